//! Asking the obstacles, and counting how often.

use nalgebra::Point3;

use crate::access::{Near, Obstacles};

/// A place and its clearance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Spot {
    pub at: Point3<f64>,
    /// Clearance, mm; at most the field's limit.
    pub clear_mm: f64,
}

/// The obstacles, looked at no farther than a limit.
pub(super) struct Field<'a> {
    pub obstacles: &'a dyn Obstacles,
    /// A clearance of this is "this or more".
    pub limit_mm: f64,
    pub queries: usize,
    /// What the last look saw, the nearest first.
    pub seen: Vec<Near>,
}

impl<'a> Field<'a> {
    pub fn new(obstacles: &'a dyn Obstacles, limit_mm: f64) -> Self {
        Field { obstacles, limit_mm, queries: 0, seen: Vec::new() }
    }

    /// The clearance at a point, at most the limit; `seen` holds who is near.
    pub fn look(&mut self, at: &Point3<f64>, spread_mm: f64) -> f64 {
        self.queries += 1;
        self.obstacles.near(at, self.limit_mm, spread_mm, &mut self.seen);
        self.seen.first().map_or(self.limit_mm, |near| near.clearance_mm.min(self.limit_mm))
    }

    pub fn spot(&mut self, at: Point3<f64>) -> Spot {
        Spot { at, clear_mm: self.look(&at, 0.0) }
    }
}
