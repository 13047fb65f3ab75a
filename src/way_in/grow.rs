//! Growing a tree toward a pose: straight while it is free, along what stops it otherwise.

use nalgebra::{Isometry3, Point3, Translation3, UnitQuaternion, Vector3, Vector6};

use super::bay::{Asked, Bay};
use super::mover::Step;
use super::tree::{Tree, apart_mm, scaled};
use crate::space::Pose;

/// How growth is done; lengths in mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Gait {
    /// Travel of the farthest point between two looks.
    pub step_mm: f64,
    /// Room beyond what is required that growth keeps, so that it can be proved afterwards.
    pub margin_mm: f64,
    /// Nodes that may be found stand this far apart.
    pub spacing_mm: f64,
    /// Steps along obstacles at most.
    pub slides: u32,
}

/// How growth toward a pose ended.
#[derive(Clone, Copy, Debug)]
pub(super) struct Grown {
    /// The last node reached.
    pub last: u32,
    /// Whether it is the pose itself.
    pub arrived: bool,
    /// Travel that growth covered, mm.
    pub went_mm: f64,
}

/// One side of what stops the body: moving along `row` (shift, scaled turn) widens the gap.
#[derive(Clone, Copy)]
struct Wall {
    row: Vector6<f64>,
    age: u32,
}

/// A tree, what it grows in, and how.
pub(super) struct Growth<'a, 'b> {
    pub bay: &'a Bay<'b>,
    pub gait: Gait,
    pub asked: &'a mut Asked,
}

impl Growth<'_, '_> {
    fn stopped(&mut self, pose: &Pose) -> Option<usize> {
        self.bay.stopped(pose, self.gait.margin_mm, self.asked)
    }

    /// Grows from a node toward a pose by at most `most_mm` of travel.
    pub fn toward(&mut self, tree: &mut Tree, node: u32, target: &Pose, most_mm: f64) -> Grown {
        let mut grown = Grown { last: node, arrived: false, went_mm: 0.0 };
        let Some(by) = self.straight(tree, &mut grown, target, most_mm) else { return grown };
        if self.gait.slides > 0 && grown.went_mm < most_mm {
            self.along(tree, &mut grown, target, by, most_mm);
        }
        grown
    }

    /// Straight toward the target; the obstacle that stopped it, if one did.
    ///
    /// The far end first: whether it is free costs little to ask where it is not.
    fn straight(&mut self, tree: &mut Tree, grown: &mut Grown, target: &Pose, most_mm: f64) -> Option<usize> {
        let mover = self.bay.mover;
        let from = tree.nodes[grown.last as usize].pose;
        let step = Step::new(&from, target);
        let travel_mm = step.travel_mm(mover.reach_mm);
        if travel_mm < 1e-9 {
            grown.arrived = true;
            return None;
        }
        let whole = (most_mm / travel_mm).min(1.0);
        let mut share = whole;
        let mut stopped_by = None;
        while let Some(by) = self.stopped(&step.at(share)) {
            stopped_by = Some(by);
            share /= 2.0;
            if share * travel_mm < 0.5 * self.gait.step_mm {
                return stopped_by;
            }
        }
        let looks = (share * travel_mm / self.gait.step_mm).ceil().max(1.0) as u32;
        let mut reached = looks;
        for look in 1..looks {
            if let Some(by) = self.stopped(&step.at(share * f64::from(look) / f64::from(looks))) {
                stopped_by = Some(by);
                reached = look - 1;
                break;
            }
        }
        if reached == 0 {
            return stopped_by;
        }
        let each_mm = share * travel_mm / f64::from(looks);
        grown.went_mm += each_mm * f64::from(reached);
        let nodes = (each_mm * f64::from(reached) / self.gait.spacing_mm)
            .ceil()
            .clamp(1.0, f64::from(reached)) as u32;
        grown.arrived = share >= 1.0 && reached == looks;
        for node in 1..=nodes {
            let at = share * f64::from(reached) / f64::from(looks) * f64::from(node) / f64::from(nodes);
            let pose = if node == nodes && grown.arrived { *target } else { step.at(at) };
            grown.last = tree.add(mover, &pose, grown.last, true);
        }
        stopped_by
    }

    /// On toward the target along the obstacles that stop the way.
    fn along(&mut self, tree: &mut Tree, grown: &mut Grown, target: &Pose, by: usize, most_mm: f64) {
        let mover = self.bay.mover;
        let mut at = tree.nodes[grown.last as usize].pose;
        let mut walls: Vec<Wall> = Vec::with_capacity(8);
        let mut since_mm = 0.0;
        let mut shown = true;
        self.wall(&at, by, &mut walls);
        let mut best_mm = apart_mm(mover, &at, target);
        let mut idle = 0;
        let mut stride = 1.0;
        for _ in 0..self.gait.slides {
            let whole = scaled(mover, &Step::new(&at, target));
            let length = whole.norm();
            let Some(mut go) = held_back(&whole, &walls) else { break };
            if go.norm() < 0.08 * length || length < 1e-9 {
                break;
            }
            // At most one look ahead, and not past the target.
            let travel = |go: &Vector6<f64>| {
                go.fixed_rows::<3>(0).norm() + mover.reach_mm * go.fixed_rows::<3>(3).norm() / mover.spread_mm
            };
            let look_mm = stride * self.gait.step_mm;
            go *= (look_mm / travel(&go).max(1e-12)).min(1.0);
            for wall in &walls {
                if wall.age == 0 {
                    go += wall.row * (0.1 * look_mm);
                }
            }
            let next = moved(&at, &go, mover.spread_mm);
            let went_mm = travel(&go);
            let Some(by) = self.stopped(&next) else {
                at = next;
                grown.went_mm += went_mm;
                since_mm += went_mm;
                shown = since_mm >= self.gait.spacing_mm;
                grown.last = tree.add(mover, &at, grown.last, shown);
                if shown {
                    since_mm = 0.0;
                }
                stride = (stride * 1.5f64).min(1.0);
                walls.iter_mut().for_each(|wall| wall.age += 1);
                walls.retain(|wall| wall.age < 4);
                let now_mm = apart_mm(mover, &at, target);
                if now_mm < best_mm - 0.1 * went_mm {
                    (best_mm, idle) = (now_mm, 0);
                } else {
                    idle += 1;
                }
                if idle > 4 || grown.went_mm >= most_mm {
                    break;
                }
                continue;
            };
            self.wall(&at, by, &mut walls);
            stride *= 0.6;
            idle += 1;
            if walls.len() > 7 || idle > 8 {
                break;
            }
        }
        if !shown && since_mm > 0.2 * self.gait.spacing_mm {
            tree.show(mover, grown.last);
        }
    }

    /// Adds what the place that stopped the body forbids.
    fn wall(&mut self, at: &Pose, by: usize, walls: &mut Vec<Wall>) {
        let mover = self.bay.mover;
        if let Some(touch) = self.bay.touch(by, at, self.asked) {
            let middle = Point3::from(at.translation.vector);
            let lever = (touch.point - middle).cross(&touch.away) / mover.spread_mm;
            let away = touch.away;
            let row = Vector6::new(away.x, away.y, away.z, lever.x, lever.y, lever.z);
            walls.push(Wall { row: row / row.norm(), age: 0 });
        }
    }
}

/// A pose after a small move: shift, and turn scaled to millimetres.
fn moved(from: &Pose, go: &Vector6<f64>, spread_mm: f64) -> Pose {
    let turn: Vector3<f64> = go.fixed_rows::<3>(3).into_owned() / spread_mm;
    let shift: Vector3<f64> = go.fixed_rows::<3>(0).into_owned();
    Isometry3::from_parts(
        Translation3::from(from.translation.vector + shift),
        UnitQuaternion::from_scaled_axis(turn) * from.rotation,
    )
}

/// The part of a move that goes against no wall; `None` when nothing is left of it.
///
/// # Source
/// Alternating projections on to half spaces with corrections: Dykstra 1983 (from memory).
fn held_back(go: &Vector6<f64>, walls: &[Wall]) -> Option<Vector6<f64>> {
    let mut kept = *go;
    let mut corrections = [0.0f64; 8];
    for _ in 0..12 {
        let mut changed = 0.0f64;
        for (wall, correction) in walls.iter().zip(&mut corrections) {
            let along = kept.dot(&wall.row) - *correction;
            let push = (-along).max(0.0);
            kept += wall.row * (push - *correction);
            changed = changed.max((push - *correction).abs());
            *correction = push;
        }
        if changed < 1e-6 * go.norm() {
            break;
        }
    }
    kept.iter().all(|v| v.is_finite()).then_some(kept)
}
