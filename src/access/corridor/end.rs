//! Where a ball's way may end: near the point, with nothing between.

use nalgebra::{Point3, Unit, Vector3};

use crate::access::Obstacles;

/// The last stretch of a line to a point that is not looked at, mm: a point may lie on what is beside it.
const BESIDE_MM: f64 = 3.0;
/// A line that comes this near meets, mm.
const TOUCHING_MM: f64 = 0.05;

/// Ends of the ways of one ball to one point.
pub(super) struct End<'a> {
    pub obstacles: &'a dyn Obstacles,
    /// A body that may stand between: the point lies in it.
    pub served: Option<usize>,
    pub target: Point3<f64>,
    /// The centre must end before the plane through the point that this stands on.
    pub from_side: Option<Unit<Vector3<f64>>>,
    /// How far from the point the centre may end, mm.
    pub within_mm: f64,
}

impl End<'_> {
    /// The first place on the straight line from `before` to the point at which the ball has arrived; none where
    /// something stands between that and the point.
    pub(super) fn toward(&self, before: &Point3<f64>) -> Option<Point3<f64>> {
        let back = before - self.target;
        let far_mm = back.norm();
        let end = match far_mm > self.within_mm {
            true => self.target + back * (self.within_mm / far_mm),
            false => *before,
        };
        let before_it = self.from_side.is_none_or(|side| (end - self.target).dot(&side) >= 0.0);
        (before_it && nothing_between(self.obstacles, self.served, &end, &self.target)).then_some(end)
    }
}

/// Whether a straight line meets no obstacle but `served`, the last 3 mm left out.
pub(in crate::access) fn nothing_between(
    obstacles: &dyn Obstacles,
    served: Option<usize>,
    from: &Point3<f64>,
    to: &Point3<f64>,
) -> bool {
    let (line, mut gone_mm, mut seen) = (to - from, 0.0, Vec::new());
    let length_mm = line.norm();
    let spread_mm = if served.is_some() { f64::INFINITY } else { 0.0 };
    while gone_mm < length_mm - BESIDE_MM {
        let at = from + line * (gone_mm / length_mm);
        // A clearance changes by no more than the way gone, so nothing is stepped over.
        obstacles.near(&at, length_mm, spread_mm, &mut seen);
        let nearest = seen.iter().find(|near| Some(near.body) != served);
        let clear_mm = nearest.map_or(length_mm, |near| near.clearance_mm);
        if clear_mm < TOUCHING_MM {
            return false;
        }
        gone_mm += clear_mm;
    }
    true
}
