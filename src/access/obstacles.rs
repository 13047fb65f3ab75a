//! What can be in the way.

use nalgebra::{Point3, Unit, Vector3};

use crate::space::Bounds;

/// An obstacle near a point, as seen from there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Near {
    /// Number of the obstacle among its like; [`Obstacles::name`] names it.
    pub body: usize,
    /// A point of the bare obstacle (without its cover), nearest to the point asked about.
    pub point: Point3<f64>,
    /// The cover on the obstacle: wrap, coating, sheath; mm.
    pub cover_mm: f64,
    /// Signed distance of the point asked about to the covered obstacle, mm; negative inside.
    pub clearance_mm: f64,
    /// The way in which that distance grows fastest.
    pub away: Unit<Vector3<f64>>,
}

impl Near {
    /// The most that the clearance can be at `point`, mm: the obstacle has a point at `self.point`.
    pub fn at_most_mm(&self, point: &Point3<f64>) -> f64 {
        (point - self.point).norm() - self.cover_mm
    }
}

/// Whatever can be in the way: a set of obstacles that knows, at any point, how far the nearest is.
///
/// The clearance is the signed distance to the nearest obstacle minus that obstacle's cover. It
/// must be 1-Lipschitz: from one point to another it changes by no more than their distance.
/// Every proof in this room rests on that and on nothing else.
pub trait Obstacles: Sync {
    /// A box that holds all obstacles, covers included.
    fn bounds(&self) -> Bounds;

    /// Clears `into` and fills it with obstacles near `point`, the nearest first.
    ///
    /// The nearest is there if its clearance is under `limit_mm`. So is every obstacle whose
    /// clearance exceeds the nearest one's by no more than `spread_mm`; others may be.
    fn near(&self, point: &Point3<f64>, limit_mm: f64, spread_mm: f64, into: &mut Vec<Near>);

    /// The name of an obstacle.
    fn name(&self, body: usize) -> &str;

    /// A ball in which one obstacle does not count: `(body, centre, radius_mm)`. Inside it
    /// [`Near::at_most_mm`] says nothing about that obstacle.
    fn opened(&self) -> Option<(usize, Point3<f64>, f64)> {
        None
    }

    /// Signed distance to the nearest covered obstacle, mm; infinite when there is none.
    fn clearance_mm(&self, point: &Point3<f64>) -> f64 {
        let mut near = Vec::new();
        self.near(point, f64::INFINITY, 0.0, &mut near);
        near.first().map_or(f64::INFINITY, |nearest| nearest.clearance_mm)
    }
}
