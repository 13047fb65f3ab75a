//! How well a gap is known, from how well its two bodies are placed.

use std::collections::{BTreeMap, HashMap};

use nalgebra::{Matrix3, Point3, Unit, Vector3, Vector6};

use crate::scene::{Body, Placement};
use crate::space::{Bounds, Length, Pose};
use crate::survey::Vector7;

/// Coverage factor of every expanded uncertainty: about 95 % (JCGM 100:2008, 6.3.3).
pub const COVERAGE: f64 = 2.0;

/// Variance (mm^2) of where a body's surface lies along `normal` at `point`, both in vehicle axes with the
/// body's carrier moved by `world_from_rest`.
///
/// Law of propagation: the normal displacement of a surface point under a small shift s and turn w about c
/// is n.s + ((p - c) x n).w, so its variance is g' C g, plus the surface's own.
///
/// # Source
/// JCGM 100:2008, 5.2.2 eq. (13).
pub(super) fn variance_along(
    placement: &Placement,
    world_from_rest: &Pose,
    point: &Point3<f64>,
    normal: &Unit<Vector3<f64>>,
) -> f64 {
    let gradient = gradient_of(placement, world_from_rest, point, normal);
    gradient.dot(&(placement.covariance * gradient)).max(0.0) + placement.surface_mm * placement.surface_mm
}

/// How far a surface point moves along the normal with (shift, turn) of its body.
fn gradient_of(
    placement: &Placement,
    world_from_rest: &Pose,
    point: &Point3<f64>,
    normal: &Unit<Vector3<f64>>,
) -> Vector6<f64> {
    let point = world_from_rest.inverse_transform_point(point);
    let normal = world_from_rest.inverse_transform_unit_vector(normal);
    let turn = (point - placement.about).cross(&normal);
    Vector6::new(normal.x, normal.y, normal.z, turn.x, turn.y, turn.z)
}

/// One side of a gap: how well its body is placed, how its carrier has moved it, the point nearest to the other.
pub(super) struct Side<'a> {
    pub placement: &'a Placement,
    pub world_from_rest: Pose,
    pub point: Point3<f64>,
}

/// Variance (mm^2) of the gap between two bodies along `normal`: both their own, less twice what they share.
///
/// Errors that both answer to alike (one datum, one tape, the bracket that both stand on) move both the same way
/// and cancel; those they answer to oppositely count double.
///
/// # Source
/// JCGM 100:2008, 5.2.2 eq. (13), for a difference.
pub(super) fn variance_between(first: &Side<'_>, second: &Side<'_>, normal: &Unit<Vector3<f64>>) -> f64 {
    // Outward is along the normal on the first body, against it on the second.
    let (one, other) = (seven(first, normal, 1.0), seven(second, normal, -1.0));
    let apart = own_variance(first, normal, &one) + own_variance(second, normal, &other);
    let mut shared = 0.0;
    for share in &first.placement.shares {
        for theirs in second.placement.shares.iter().filter(|theirs| theirs.source == share.source) {
            shared += share.moves.shared_variance(&one, &theirs.moves, &other);
        }
    }
    (apart - 2.0 * shared).max(0.0)
}

/// How the gap between two bodies answers to each independent error of unit size that either knows, source by source.
pub(super) fn errors_between<'a>(
    first: &Side<'a>,
    second: &Side<'a>,
    normal: &Unit<Vector3<f64>>,
) -> BTreeMap<&'a str, HashMap<usize, f64>> {
    let mut by_source: BTreeMap<&str, HashMap<usize, f64>> = BTreeMap::new();
    for (side, outward, sign) in [(first, 1.0, -1.0), (second, -1.0, 1.0)] {
        let gradient = seven(side, normal, outward);
        for share in &side.placement.shares {
            let errors = by_source.entry(share.source.as_str()).or_default();
            for (error, moves) in share.moves.errors.iter().zip(&share.moves.moves) {
                *errors.entry(*error).or_insert(0.0) += sign * gradient.dot(moves);
            }
        }
    }
    by_source
}

/// How far the side's surface moves along the normal with (shift, turn, growth) of its body.
fn seven(side: &Side<'_>, normal: &Unit<Vector3<f64>>, outward: f64) -> Vector7 {
    let gradient = gradient_of(side.placement, &side.world_from_rest, &side.point, normal);
    Vector7::from_fn(|k, _| if k < 6 { gradient[k] } else { outward })
}

/// Variance of one side by itself. Where the radius is known to err along with the place, together with it; never more than
/// the surface's worst side makes it.
fn own_variance(side: &Side<'_>, normal: &Unit<Vector3<f64>>, gradient: &Vector7) -> f64 {
    let worst = variance_along(side.placement, &side.world_from_rest, &side.point, normal);
    let Some(form_mm) = side.placement.form_mm else { return worst };
    let told = side.placement.shares.iter().flat_map(|share| &share.moves.moves);
    let together: f64 = told.map(|m| gradient.dot(m).powi(2)).sum();
    (together + form_mm * form_mm).min(worst)
}

/// Upper bound on the standard uncertainty of any gap between two bodies, from that of each: errors that both answer
/// to may add up, others add by squares.
pub(super) fn worst_together(first: (&Placement, f64), second: (&Placement, f64)) -> f64 {
    if first.0.shares_with(second.0) { first.1 + second.1 } else { first.1.hypot(second.1) }
}

/// Standard uncertainty of a surface point of a body in the direction in which it is known worst, mm.
pub(super) fn worst_direction(placement: &Placement, world_from_rest: &Pose, point: &Point3<f64>) -> f64 {
    let lever = world_from_rest.inverse_transform_point(point) - placement.about;
    // A small shift s and turn w move the point by s + w x lever.
    let mut moves = nalgebra::Matrix3x6::zeros();
    moves.fixed_view_mut::<3, 3>(0, 0).copy_from(&Matrix3::identity());
    moves.fixed_view_mut::<3, 3>(0, 3).copy_from(&-lever.cross_matrix());
    let placed: Matrix3<f64> = moves * placement.covariance * moves.transpose();
    (placed.symmetric_eigenvalues().max().max(0.0) + placement.surface_mm * placement.surface_mm).sqrt()
}

/// No gap of this body is less well known than this: an upper bound on the standard uncertainty over every
/// point of its surface and every direction, mm.
pub(super) fn worst_standard(body: &Body, at_rest: &Bounds) -> f64 {
    let placement = &body.placement;
    let block = |at: usize| Matrix3::from(placement.covariance.fixed_view::<3, 3>(at, at));
    let greatest = |m: Matrix3<f64>| m.symmetric_eigenvalues().max().max(0.0).sqrt();
    let reach = at_rest.corners().iter().map(|corner| (corner - placement.about).norm()).fold(0.0, f64::max);
    let placed = greatest(block(0)) + reach * greatest(block(3));
    placed.hypot(placement.surface_mm)
}

/// Expanded uncertainty from a variance.
pub(super) fn expanded(variance_mm2: f64) -> Length {
    Length::from_mm(COVERAGE * variance_mm2.sqrt())
}
