//! Gaps over whole movements. (Skeleton.)

use crate::clearance::{Gap, IndexedShape};
use crate::space::{Length, Pose};

use super::Movement;

/// A solid that rides on a carrier.
#[derive(Clone, Copy, Debug)]
pub struct Rider<'a> {
    /// The solid.
    pub shape: &'a IndexedShape,
    /// Where it stands in the world when its carrier is at rest.
    pub world_from_solid: &'a Pose,
    /// How its carrier moves.
    pub movement: &'a Movement,
}

/// The least gap over two riders' movements, proved to lie in `[lower, upper]`.
#[derive(Clone, Debug, PartialEq)]
pub struct GapOver {
    /// No pose of the movements has a smaller gap.
    pub lower: Length,
    /// The gap at the worst pose found; its witness stands in the world, at that pose.
    pub upper: Gap,
    /// The first rider's freedoms at the worst pose (radians or mm).
    pub fixed_values: Vec<f64>,
    /// The second rider's.
    pub moving_values: Vec<f64>,
    /// Whether `upper - lower` is within the tolerance asked for; false only when the budget ran out.
    pub settled: bool,
}

/// The answer of [`gap_over_under`]; either is proved.
#[derive(Clone, Debug, PartialEq)]
pub enum GapOverUnder {
    /// The gap is at least the limit in every pose.
    Clear {
        /// A proved lower bound, at least the limit.
        at_least: Length,
    },
    /// Somewhere the gap is under the limit; the least gap as [`gap_over`] gives it.
    Under(GapOver),
}

/// The least gap between two riders over all poses of their carriers, as a proved interval no
/// wider than `tolerance`. Riders of one carrier must be asked with a still movement.
pub fn gap_over(_fixed: &Rider<'_>, _moving: &Rider<'_>, _tolerance: Length) -> GapOver {
    unimplemented!()
}

/// Whether the least gap over the movements is under a limit, and if so what it is.
pub fn gap_over_under(
    _fixed: &Rider<'_>,
    _moving: &Rider<'_>,
    _limit: Length,
    _tolerance: Length,
) -> GapOverUnder {
    unimplemented!()
}
