//! The error of an alignment over the bay.

use nalgebra::Point3;
use serde::Serialize;

use super::Alignment;
use crate::space::Bounds;

/// A place, and how well an alignment knows it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TargetError {
    /// The place, in vehicle axes.
    pub place: Point3<f64>,
    /// Standard uncertainty, root of the sum over three axes, mm.
    pub sigma_mm: f64,
}

/// Places along each axis at most.
const MOST: f64 = 200.0;

/// The error of an alignment on a grid over a box: what a drawing of it as a field needs. Places stand `step_mm` apart, wider
/// where there would be more than 200 along an axis; both ends of each edge are among them.
///
/// With the covariance C of (shift, turn) about a point o, a place at lever d = place - o moves by (shift + turn x d), so its
/// covariance is L C L^T with L = (1, -[d]x), and its error sqrt(trace(L C L^T)).
///
/// # Source
/// Law of propagation, JCGM 102:2011, 6.2.1.3; for equal errors at every mark it is the formula of
/// [`super::expected_target_error_mm`].
pub fn target_error_field(alignment: &Alignment, bounds: &Bounds, step_mm: f64) -> Vec<TargetError> {
    let along = |axis: usize| -> Vec<f64> {
        let (low, high) = (bounds.min[axis], bounds.max[axis]);
        let width = high - low;
        if !(width.is_finite() && width >= 0.0 && step_mm > 0.0) {
            return Vec::new();
        }
        let count = (width / step_mm).ceil().clamp(1.0, MOST - 1.0);
        (0..=count as usize).map(|k| low + width * k as f64 / count).collect()
    };
    let [xs, ys, zs] = [along(0), along(1), along(2)];
    let mut field = Vec::with_capacity(xs.len() * ys.len() * zs.len());
    for &z in &zs {
        for &y in &ys {
            for &x in &xs {
                let place = Point3::new(x, y, z);
                let sigma_mm = alignment.point_covariance(&place).trace().max(0.0).sqrt();
                field.push(TargetError { place, sigma_mm });
            }
        }
    }
    field
}
