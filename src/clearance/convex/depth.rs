//! Depth of two overlapping cores: the shortest push that parts them.

use nalgebra::Vector3;

use super::core::Core;
use super::descend::Vertex;
use super::expand;
use super::flat::{self, Features};
use super::segment::perpendicular;

/// Length and unit direction of the shortest push of `b` that parts the cores.
///
/// Exact for flat faces; for curved ones the push certainly parts them and is the shortest to
/// about 1e-10 of their size.
pub(crate) fn push(a: &Core, b: &Core, simplex: &[Vertex]) -> (f64, Vector3<f64>) {
    match (a, b) {
        (Core::Point(_), Core::Point(_)) => return (0.0, Vector3::z()),
        (Core::Point(_), Core::Segment([p, q])) | (Core::Segment([p, q]), Core::Point(_)) => {
            return (0.0, perpendicular(&(q - p)));
        }
        (Core::Segment([p, q]), Core::Segment([r, s])) => {
            let (u, v) = (q - p, s - r);
            let cross = u.cross(&v);
            let flat = cross.norm() <= 1e-10 * u.norm() * v.norm();
            let longer = if u.norm_squared() >= v.norm_squared() { u } else { v };
            return (0.0, if flat { perpendicular(&longer) } else { cross.normalize() });
        }
        _ => {}
    }
    if let (Some(fa), Some(fb)) = (Features::of(a), Features::of(b))
        && let Some((push_mm, direction)) = flat::shortest_push(a, b, (&fa, &fb))
    {
        return (push_mm.max(0.0), direction);
    }
    expand::shortest_push(a, b, simplex)
}
