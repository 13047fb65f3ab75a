//! The least gap over whole movements.

use super::Movement;
use super::search::{Ended, Search};
use crate::clearance::contained::contained;
use crate::clearance::gap::signed;
use crate::clearance::{Gap, IndexedShape, Witness};
use crate::space::{Length, Pose};

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
    /// Whether `upper - lower` is within the tolerance asked for. False when the budget ran out, and
    /// for solids that overlap somewhere and are not both convex: then `lower` is true but coarse, and `upper`
    /// is the deepest overlap among the ends of the freedoms, rest and the pose that was met first.
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
///
/// A tolerance below 1e-6 mm counts as that. What it costs grows with the square root of
/// one over the tolerance for each freedom: 0.01 mm is meant for daily use.
///
/// # Example
/// A ball on an arm of 100 swings through 60 degrees past a ball 150 out; worst when the arm points at it:
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::clearance::IndexedShape;
/// use baywright::motion::{Freedom, Movement, Rider, gap_over};
/// use baywright::solid::Piece;
/// use baywright::space::{Axis, Length, Pose};
/// use nalgebra::{Point3, Vector3};
/// let ball = IndexedShape::of_pieces(&[Piece::Ball { center: Point3::origin(), radius_mm: 10.0 }]);
/// let axis = Axis { through: Point3::origin(), along: Vector3::z_axis() };
/// let swing = Movement { freedoms: vec![Freedom::Turn { axis, from_rad: -0.6, to_rad: 0.4 }] };
/// let still = Movement::still();
/// let (out, arm) = (Pose::translation(150.0, 0.0, 0.0), Pose::translation(100.0, 0.0, 0.0));
/// let fixed = Rider { shape: &ball, world_from_solid: &out, movement: &still };
/// let moving = Rider { shape: &ball, world_from_solid: &arm, movement: &swing };
/// let found = gap_over(&fixed, &moving, Length::from_mm(0.01));
/// assert!(found.settled && found.lower.mm() <= 30.0 && found.upper.gap.mm() >= 30.0 - 1e-9);
/// assert!(found.upper.gap.mm() - found.lower.mm() <= 0.01); // 150 - 100 - 2 x 10 = 30
/// ```
pub fn gap_over(fixed: &Rider<'_>, moving: &Rider<'_>, tolerance: Length) -> GapOver {
    match solve(fixed, moving, f64::INFINITY, tolerance.mm()) {
        Ok(found) => found,
        // Nothing is nearer than infinity: one of the solids has no pieces.
        Err(at_least_mm) => nowhere(fixed, moving, at_least_mm),
    }
}

/// Whether the least gap over the movements is under a limit, and if so what it is.
///
/// Cheap when the riders stay farther apart than the limit: only what could come nearer is looked at.
pub fn gap_over_under(
    fixed: &Rider<'_>,
    moving: &Rider<'_>,
    limit: Length,
    tolerance: Length,
) -> GapOverUnder {
    match solve(fixed, moving, limit.mm(), tolerance.mm()) {
        Ok(found) => GapOverUnder::Under(found),
        Err(at_least_mm) => GapOverUnder::Clear { at_least: Length::from_mm(at_least_mm) },
    }
}

fn nowhere(fixed: &Rider<'_>, moving: &Rider<'_>, at_least_mm: f64) -> GapOver {
    let (fixed_values, moving_values) = (rest(fixed.movement), rest(moving.movement));
    let mut upper = at(fixed, moving, &fixed_values, &moving_values);
    upper.gap = Length::from_mm(at_least_mm.max(upper.gap.mm()));
    GapOver { lower: Length::from_mm(at_least_mm), upper, fixed_values, moving_values, settled: true }
}

/// Values at rest, or the nearest allowed.
fn rest(movement: &Movement) -> Vec<f64> {
    movement
        .freedoms
        .iter()
        .map(|freedom| freedom.range())
        .map(|(low, high)| 0f64.max(low).min(high))
        .collect()
}

/// The signed gap at given values, witness in the world.
pub(super) fn at(fixed: &Rider<'_>, moving: &Rider<'_>, fixed_values: &[f64], moving_values: &[f64]) -> Gap {
    let world_from_fixed = fixed.movement.world_from_rest(fixed_values) * fixed.world_from_solid;
    let world_from_moving = moving.movement.world_from_rest(moving_values) * moving.world_from_solid;
    let local =
        crate::clearance::gap(fixed.shape, moving.shape, &(world_from_fixed.inverse() * world_from_moving));
    let w = local.witness;
    Gap {
        gap: local.gap,
        witness: Witness {
            on_fixed: world_from_fixed * w.on_fixed,
            on_moving: world_from_fixed * w.on_moving,
            normal: world_from_fixed * w.normal,
        },
    }
}

/// The least gap when it is under the limit, else a proved lower bound.
fn solve(fixed: &Rider<'_>, moving: &Rider<'_>, limit_mm: f64, tolerance_mm: f64) -> Result<GapOver, f64> {
    let (a, b) = (&fixed.shape.index, &moving.shape.index);
    if a.tree.nodes.is_empty() || b.tree.nodes.is_empty() {
        return Err(f64::INFINITY);
    }
    let (rest_a, rest_b) = (rest(fixed.movement), rest(moving.movement));
    if fixed.movement.freedoms.is_empty() && moving.movement.freedoms.is_empty() {
        let relative = fixed.world_from_solid.inverse() * moving.world_from_solid;
        let least = signed(a, b, &relative, limit_mm.max(1e-9)).map(|nearest| nearest.gap_mm)?;
        if least >= limit_mm {
            return Err(least);
        }
        let upper = at(fixed, moving, &[], &[]);
        return Ok(GapOver {
            lower: upper.gap,
            upper,
            fixed_values: Vec::new(),
            moving_values: Vec::new(),
            settled: true,
        });
    }
    let tolerance_mm = tolerance_mm.max(1e-6);
    let mut search = Search::new(fixed, moving, limit_mm, tolerance_mm);
    search.offer(&rest_a, &rest_b);
    let ended = search.run();
    let relative = |va: &[f64], vb: &[f64]| {
        let world_from_a = fixed.movement.world_from_rest(va) * fixed.world_from_solid;
        let world_from_b = moving.movement.world_from_rest(vb) * moving.world_from_solid;
        world_from_a.inverse() * world_from_b
    };
    match ended {
        // Surfaces never meet, so what is inside at rest is inside always.
        Ended::Clear { .. } | Ended::Found { .. } if contained(a, b, &relative(&rest_a, &rest_b)) => {
            Ok(search.overlapping(vec![(rest_a, rest_b)]))
        }
        Ended::Clear { at_least_mm } => Err(at_least_mm),
        Ended::Found { lower_mm, values, settled } => {
            let upper = at(fixed, moving, &values.0, &values.1);
            let lower = lower_mm.min(upper.gap.mm());
            Ok(GapOver {
                lower: Length::from_mm(lower),
                upper,
                fixed_values: values.0,
                moving_values: values.1,
                settled,
            })
        }
        Ended::Meeting { values } => {
            let found = search.overlapping(vec![values, (rest_a, rest_b)]);
            // An overlap is under every limit that is not itself below zero.
            if found.lower.mm() >= limit_mm { Err(found.lower.mm()) } else { Ok(found) }
        }
    }
}
