//! Solids that stand somewhere, as obstacles.
//!
//! Leaves to others: the distance to one solid (`clearance`), which of them is near (`tree.rs`).

use nalgebra::{Point3, Unit};

use crate::clearance::{IndexedShape, distance_under};
use crate::space::{Bounds, Length, Pose};

use super::analytic::keep_nearest;
use super::tree::BoxTree;
use super::{AccessError, Near, Obstacles};

/// A solid, where it stands, and what is wrapped round it.
#[derive(Clone, Debug)]
pub struct StandingBody {
    /// What people call it.
    pub name: String,
    /// The solid, bare.
    pub shape: IndexedShape,
    /// Where it stands.
    pub world_from_body: Pose,
    /// Wrap, coating, sheath all round, mm.
    pub cover_mm: f64,
}

/// Solids that stand somewhere, with a tree over their boxes. Built once; asked often.
#[derive(Clone, Debug)]
pub struct Bodies {
    list: Vec<StandingBody>,
    body_from_world: Vec<Pose>,
    /// In the world, covers included.
    boxes: Vec<Bounds>,
    tree: BoxTree,
}

/// How the body that a service point belongs to counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Served {
    /// As an obstacle like any other. Usual: the hand then ends against it.
    Obstacle,
    /// As an obstacle, but for what lies within some distance of the point.
    ///
    /// At a place p the body's clearance is then the greater of what it is and `within_mm - |p - point|`.
    /// That is never more than the true clearance of what is left of the body.
    OpenWithin {
        /// Round the service point, mm.
        within_mm: f64,
    },
    /// Not at all.
    Absent,
}

impl Bodies {
    /// # Errors
    /// A cover that is negative or not finite.
    pub fn new(list: Vec<StandingBody>) -> Result<Self, AccessError> {
        for body in &list {
            AccessError::in_range("a body's cover, mm,", body.cover_mm, 0.0..=1000.0, "0 to 1000 mm")?;
        }
        let boxes: Vec<Bounds> = list
            .iter()
            .map(|body| {
                let bounds = body.shape.shape().bounds().moved(&body.world_from_body);
                if bounds.is_empty() { bounds } else { bounds.grown(body.cover_mm) }
            })
            .collect();
        let body_from_world = list.iter().map(|body| body.world_from_body.inverse()).collect();
        let tree = BoxTree::new(&boxes);
        Ok(Bodies { list, body_from_world, boxes, tree })
    }

    /// All of them; a body's number is its place here.
    pub fn list(&self) -> &[StandingBody] {
        &self.list
    }

    /// The number of the body of a name.
    pub fn number(&self, name: &str) -> Option<usize> {
        self.list.iter().position(|body| body.name == name)
    }

    /// A body's box in the world, cover included.
    pub fn bounds_of(&self, body: usize) -> Bounds {
        self.boxes.get(body).copied().unwrap_or(Bounds::EMPTY)
    }

    /// The body of a number.
    ///
    /// # Errors
    /// There is none.
    pub fn body(&self, index: usize) -> Result<&StandingBody, AccessError> {
        self.list.get(index).ok_or(AccessError::NoSuchBody { index, count: self.list.len() })
    }

    /// As obstacles, but for the bodies taken off first.
    ///
    /// # Errors
    /// A number that no body has.
    pub fn obstacles(&self, without: &[usize]) -> Result<BodyObstacles<'_>, AccessError> {
        let mut absent = vec![false; self.list.len()];
        for &body in without {
            self.body(body)?;
            absent[body] = true;
        }
        Ok(BodyObstacles { bodies: self, absent, opened: None })
    }

    /// As obstacles to a hand at a service point of one of them.
    ///
    /// # Errors
    /// A number that no body has; a distance that is negative or not finite.
    pub fn obstacles_at(
        &self,
        point: &Point3<f64>,
        body: usize,
        served: Served,
        without: &[usize],
    ) -> Result<BodyObstacles<'_>, AccessError> {
        let mut obstacles = self.obstacles(without)?;
        self.body(body)?;
        match served {
            Served::Obstacle => {}
            Served::Absent => obstacles.absent[body] = true,
            Served::OpenWithin { within_mm } => {
                AccessError::in_range("the opened distance, mm,", within_mm, 0.0..=1e4, "0 to 10 000 mm")?;
                obstacles.opened = Some((body, *point, within_mm));
            }
        }
        Ok(obstacles)
    }

    /// Visits the bodies whose boxes are within reach of a box, roughly the nearest first; each
    /// visit returns how far is still of interest, mm.
    pub(super) fn visit_near(&self, about: &Bounds, far_mm: f64, visit: impl FnMut(usize) -> f64) {
        self.tree.visit(|bounds| bounds.gap_mm(about), far_mm, visit);
    }
}

/// Some of the [`Bodies`], as obstacles.
#[derive(Clone, Debug)]
pub struct BodyObstacles<'a> {
    bodies: &'a Bodies,
    absent: Vec<bool>,
    opened: Option<(usize, Point3<f64>, f64)>,
}

impl BodyObstacles<'_> {
    /// One body seen from a point; none when its clearance is proved to be at least `limit_mm`.
    fn look(&self, body: usize, point: &Point3<f64>, limit_mm: f64) -> Option<Near> {
        let standing = &self.bodies.list[body];
        let local = self.bodies.body_from_world[body] * point;
        let limit = Length::from_mm(limit_mm + standing.cover_mm);
        let closest = distance_under(&standing.shape, &local, limit)?;
        let at = standing.world_from_body * closest.point;
        let toward = if closest.distance_mm < 0.0 { at - point } else { point - at };
        let away = Unit::try_new(toward, 1e-9).unwrap_or(standing.world_from_body * closest.normal);
        let clearance_mm = closest.distance_mm - standing.cover_mm;
        let mut near = Near { body, point: at, cover_mm: standing.cover_mm, clearance_mm, away };
        if let Some((opened, center, within_mm)) = self.opened
            && opened == body
        {
            let inward = center - point;
            let opened_mm = within_mm - inward.norm();
            if opened_mm > near.clearance_mm {
                near.clearance_mm = opened_mm;
                near.away = Unit::try_new(inward, 1e-9).unwrap_or(near.away);
            }
        }
        Some(near)
    }
}

impl Obstacles for BodyObstacles<'_> {
    fn bounds(&self) -> Bounds {
        (0..self.absent.len())
            .filter(|body| !self.absent[*body])
            .fold(Bounds::EMPTY, |all, body| all.union(&self.bodies.boxes[body]))
    }

    fn near(&self, point: &Point3<f64>, limit_mm: f64, spread_mm: f64, into: &mut Vec<Near>) {
        into.clear();
        let mut far_mm = limit_mm;
        self.bodies.tree.visit(
            |bounds| bounds.distance_mm(point),
            far_mm,
            |body| {
                if !self.absent[body] && self.bodies.boxes[body].distance_mm(point) <= far_mm {
                    // A hair more, so that one exactly as far as is of interest is still seen.
                    if let Some(near) = self.look(body, point, far_mm + 1e-9) {
                        far_mm = far_mm.min((near.clearance_mm + spread_mm).max(0.0));
                        into.push(near);
                    }
                }
                far_mm
            },
        );
        keep_nearest(into, limit_mm, spread_mm);
    }

    fn name(&self, body: usize) -> &str {
        self.bodies.list.get(body).map_or("?", |body| &body.name)
    }

    fn opened(&self) -> Option<(usize, Point3<f64>, f64)> {
        self.opened
    }
}
