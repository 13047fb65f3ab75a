//! Points and segments: the closed forms under everything else.

use nalgebra::{Point3, Vector3};

/// The point of a segment nearest to `point`; a segment of no length is a point.
#[inline]
pub(crate) fn on_segment(point: &Point3<f64>, from: &Point3<f64>, to: &Point3<f64>) -> Point3<f64> {
    let along = to - from;
    let length_sq = along.norm_squared();
    if length_sq <= 0.0 {
        return *from;
    }
    let t = ((point - from).dot(&along) / length_sq).clamp(0.0, 1.0);
    from + along * t
}

/// Nearest points of two segments, one on each.
///
/// Exact to rounding, parallel and empty segments included: the nearest pair is either the common
/// perpendicular's feet or has an end in it, and all five candidates are compared.
#[inline]
pub(crate) fn segments(a: [&Point3<f64>; 2], b: [&Point3<f64>; 2]) -> (Point3<f64>, Point3<f64>) {
    let (u, v) = (a[1] - a[0], b[1] - b[0]);
    let offset = a[0] - b[0];
    let (uu, uv, vv) = (u.norm_squared(), u.dot(&v), v.norm_squared());
    let (ur, vr) = (u.dot(&offset), v.dot(&offset));
    let det = uu * vv - uv * uv;
    if det > 1e-12 * uu * vv {
        let s = (uv * vr - vv * ur) / det;
        let t = (uu * vr - uv * ur) / det;
        if (0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t) {
            // One step of refinement on t mends what cancellation cost the solve.
            let on_a = a[0] + u * s;
            return (on_a, on_segment(&on_a, b[0], b[1]));
        }
    }
    let mut best = (*a[0], on_segment(a[0], b[0], b[1]));
    let mut best_sq = (best.1 - best.0).norm_squared();
    let mut offer = |pair: (Point3<f64>, Point3<f64>)| {
        let sq = (pair.1 - pair.0).norm_squared();
        if sq < best_sq {
            best_sq = sq;
            best = pair;
        }
    };
    offer((*a[1], on_segment(a[1], b[0], b[1])));
    offer((on_segment(b[0], a[0], a[1]), *b[0]));
    offer((on_segment(b[1], a[0], a[1]), *b[1]));
    best
}

/// Some unit vector at right angles to `along`; z when `along` is nothing.
#[inline]
pub(crate) fn perpendicular(along: &Vector3<f64>) -> Vector3<f64> {
    let least = if along.x.abs() <= along.y.abs() && along.x.abs() <= along.z.abs() {
        Vector3::x()
    } else if along.y.abs() <= along.z.abs() {
        Vector3::y()
    } else {
        Vector3::z()
    };
    along.cross(&least).try_normalize(1e-300).unwrap_or_else(Vector3::z)
}
