//! How well a gap is known, from how well its two bodies are placed.

use nalgebra::{Matrix3, Point3, Unit, Vector3, Vector6};

use crate::scene::{Body, Placement};
use crate::space::{Bounds, Length, Pose};

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
    let point = world_from_rest.inverse_transform_point(point);
    let normal = world_from_rest.inverse_transform_unit_vector(normal);
    let turn = (point - placement.about).cross(&normal);
    let gradient = Vector6::new(normal.x, normal.y, normal.z, turn.x, turn.y, turn.z);
    gradient.dot(&(placement.covariance * gradient)).max(0.0) + placement.surface_mm * placement.surface_mm
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
