//! Chaining poses through named frames and bodies, with their uncertainty.

use std::cell::RefCell;
use std::rc::Rc;

use nalgebra::{DMatrix, Matrix6, Point3, Vector3, Vector6};

use super::names::Names;
use crate::scene::decode::{Named, Orientation, WrittenDirection, WrittenPose, z_onto};
use crate::scene::error::{Fault, Faults};
use crate::scene::model::{SPREAD_OF, Share, carried, shares_carried};
use crate::space::{Pose, pose_from_euler};
use crate::survey::SharedMoves;

/// How the bodies of a scene came by their places; saving needs it.
#[derive(Clone, Debug, Default)]
pub(crate) struct Trace {
    /// One a body, in the order of the scene.
    pub bodies: Vec<BodyTrace>,
}

/// How a body came by its place: `world_from_on * at-and-turn * on_shape`.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct BodyTrace {
    pub name: String,
    pub world_from_on: Pose,
    /// Where the shape's frame stands in what `at` and `turn` place (from-to shapes).
    pub placed_from_body: Pose,
    pub is_fitted: bool,
}

/// Something that others may stand on.
pub(super) struct Stand<'a> {
    pub name: &'a Named,
    pub pose: &'a WrittenPose,
    pub carried_by: Option<&'a Named>,
    /// What the pose stands in for, when readings place it.
    pub fitted: Option<Option<Placed>>,
    /// Where the shape's frame stands in the placed one.
    pub placed_from_body: Pose,
    pub sigma_mm: f64,
    pub sigma_turn_rad: f64,
    /// How far it strays from vehicle to vehicle, standard deviation in each axis, mm.
    pub spread_mm: f64,
}

/// Where something stands.
#[derive(Clone, Debug)]
pub(super) struct Placed {
    pub world_from_this: Pose,
    pub world_from_on: Pose,
    pub carrier: usize,
    pub about: Point3<f64>,
    pub covariance: Matrix6<f64>,
    pub source: Option<String>,
    /// What of the covariance others may share.
    pub shares: Vec<Share>,
}

#[derive(Clone)]
enum Stage {
    New,
    Open,
    Done(Option<Rc<Placed>>),
}

/// All that may be stood on, placed when asked for.
pub(super) struct Poses<'a> {
    stands: Vec<Stand<'a>>,
    names: Names<'a>,
    carriers: &'a Names<'a>,
    stages: RefCell<Vec<Stage>>,
    faults: &'a Faults,
}

impl<'a> Poses<'a> {
    pub fn new(
        stands: Vec<Stand<'a>>,
        names: Names<'a>,
        carriers: &'a Names<'a>,
        faults: &'a Faults,
    ) -> Self {
        let stages = RefCell::new(vec![Stage::New; stands.len()]);
        Poses { stands, names, carriers, stages, faults }
    }

    /// Where the body or frame of a name stands; an unknown name is a fault.
    pub fn find(&self, name: &Named) -> Option<Pose> {
        self.placed(self.names.find(name)?).map(|placed| placed.world_from_this)
    }

    /// Where a stand is; `None` when something on the way there has a fault, which was told.
    pub fn placed(&self, index: usize) -> Option<Rc<Placed>> {
        // A chain is walked, not recursed: a long one must not end the stack.
        let mut chain: Vec<usize> = Vec::new();
        let mut next = Some(index);
        let mut below: Option<Option<Rc<Placed>>> = None;
        while let Some(at) = next {
            let stage = self.stages.borrow()[at].clone();
            match stage {
                Stage::Done(placed) => {
                    below = Some(placed);
                    break;
                }
                Stage::Open => {
                    self.tell_cycle(&chain, at);
                    below = Some(None);
                    break;
                }
                Stage::New => {
                    self.stages.borrow_mut()[at] = Stage::Open;
                    chain.push(at);
                    if let (Some(None), Some(on)) = (&self.stands[at].fitted, &self.stands[at].pose.on) {
                        // It has no place that could be told, but the name may be misspelt all the same.
                        self.names.find(on);
                    }
                    next = match &self.stands[at].pose.on {
                        Some(on) if self.stands[at].fitted.is_none() => match self.names.find(on) {
                            Some(parent) => Some(parent),
                            None => {
                                below = Some(None);
                                None
                            }
                        },
                        _ => None,
                    };
                }
            }
        }
        while let Some(at) = chain.pop() {
            let placed = match below.take() {
                Some(None) => {
                    // Its carrier may be misspelt all the same.
                    self.carrier(at, 0);
                    None
                }
                Some(Some(parent)) => self.place(at, Some(&parent)).map(Rc::new),
                None => self.place(at, None).map(Rc::new),
            };
            self.stages.borrow_mut()[at] = Stage::Done(placed.clone());
            below = Some(placed);
        }
        below.flatten()
    }

    fn tell_cycle(&self, chain: &[usize], again: usize) {
        let start = chain.iter().position(|at| *at == again).unwrap_or(0);
        let mut names: Vec<String> =
            chain[start..].iter().map(|at| self.stands[*at].name.text.clone()).collect();
        names.push(self.stands[again].name.text.clone());
        let place = match &self.stands[again].pose.on {
            Some(on) => on.place.clone(),
            None => self.stands[again].name.place.clone(),
        };
        self.faults.add(place, Fault::PoseCycle { chain: names });
    }

    fn carrier(&self, at: usize, inherited: usize) -> Option<usize> {
        match self.stands[at].carried_by {
            Some(name) => self.carriers.find(name),
            None => Some(inherited),
        }
    }

    fn place(&self, at: usize, parent: Option<&Placed>) -> Option<Placed> {
        let stand = &self.stands[at];
        let carrier = self.carrier(at, parent.map_or(0, |parent| parent.carrier));
        if let Some(fitted) = &stand.fitted {
            let mut placed = Placed { carrier: carrier?, ..fitted.clone()? };
            spread(stand, &mut placed.covariance, &mut placed.shares);
            return Some(placed);
        }
        let world_from_on = parent.map_or_else(Pose::identity, |parent| parent.world_from_this);
        let on_from_placed = local(stand.pose, &world_from_on);
        let world_from_this = world_from_on * on_from_placed * stand.placed_from_body;
        let about = Point3::from(world_from_this.translation.vector);
        let mut covariance = match parent {
            Some(parent) => carried(&parent.covariance, &(about - parent.about)),
            None => Matrix6::zeros(),
        };
        let mut shares =
            parent.map_or_else(Vec::new, |parent| shares_carried(&parent.shares, &(about - parent.about)));
        let (shift, turn) = (stand.sigma_mm, stand.sigma_turn_rad);
        let own = Matrix6::from_diagonal(&Vector6::new(shift, shift, shift, turn, turn, turn));
        covariance += own * own;
        if shift > 0.0 || turn > 0.0 {
            // Whatever stands on this one errs along with it.
            let moves = SharedMoves::from_columns(&DMatrix::from_column_slice(6, 6, own.as_slice()));
            shares.push(Share { source: format!("place of {}", stand.name.text), moves });
        }
        spread(stand, &mut covariance, &mut shares);
        let source = parent.and_then(|parent| parent.source.clone());
        Some(Placed { world_from_this, world_from_on, carrier: carrier?, about, covariance, source, shares })
    }
}

/// Adds what a stand strays from vehicle to vehicle: a shift in any direction, which all that stands on it shares.
fn spread(stand: &Stand<'_>, covariance: &mut Matrix6<f64>, shares: &mut Vec<Share>) {
    let mm = stand.spread_mm;
    if mm > 0.0 {
        let own = Matrix6::from_diagonal(&Vector6::new(mm, mm, mm, 0.0, 0.0, 0.0));
        *covariance += own * own;
        let moves = SharedMoves::from_columns(&DMatrix::from_column_slice(6, 6, own.as_slice()));
        shares.push(Share { source: format!("{SPREAD_OF}{}", stand.name.text), moves });
    }
}

/// The pose that `at`, `turn` and `axis` write, in what they stand on.
pub(super) fn local(pose: &WrittenPose, world_from_on: &Pose) -> Pose {
    match &pose.orientation {
        Orientation::Straight => Pose::translation(pose.at.x, pose.at.y, pose.at.z),
        Orientation::Turned([x, y, z]) => pose_from_euler(pose.at.coords, *x, *y, *z),
        Orientation::Along(direction) => {
            let along = match direction {
                WrittenDirection::Vehicle(word) => {
                    world_from_on.rotation.inverse_transform_vector(&word.unit().into_inner())
                }
                WrittenDirection::Local(vector) => *vector,
            };
            Pose::from_parts(pose.at.into(), z_onto(&along))
        }
    }
}

/// A direction as a vector of vehicle axes.
pub(super) fn aimed(direction: &WrittenDirection, world_from_on: &Pose) -> Vector3<f64> {
    match direction {
        WrittenDirection::Vehicle(word) => word.unit().into_inner(),
        WrittenDirection::Local(vector) => world_from_on.rotation * vector,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_turn_about_one_point_is_a_shift_at_another() {
        // Turn about z, sigma 0.01 rad, seen 200 mm along x: a shift along y of 200 * 0.01 = 2 mm.
        let mut covariance = Matrix6::zeros();
        covariance[(5, 5)] = 1e-4;
        let moved = carried(&covariance, &Vector3::new(200.0, 0.0, 0.0));
        assert!((moved[(1, 1)] - 4.0).abs() < 1e-12, "{moved}");
        assert!((moved[(1, 5)] - 200.0 * 1e-4).abs() < 1e-12, "turn and shift go together");
        assert_eq!(moved[(0, 0)], 0.0);
        assert_eq!(moved[(5, 5)], 1e-4);
    }
}
