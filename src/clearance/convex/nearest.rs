//! The signed gap of two convex bodies, with its points.

use nalgebra::{Point3, Vector3};

use super::core::{Convex, Core};
use super::depth;
use super::descend::{Stand, Vertex, distance};
use super::segment::{on_segment, segments};
use super::triangle::{on_triangle, segment_triangle, triangles};

/// A signed gap between convex bodies `a` and `b`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Nearest {
    /// Negative is depth: pushing `b` by it along the normal parts them.
    pub gap_mm: f64,
    pub on_a: Point3<f64>,
    pub on_b: Point3<f64>,
    /// Unit; pushing `b` this way widens the gap.
    pub normal: Vector3<f64>,
}

/// Signed gap between two convex bodies of one frame.
///
/// Exact to rounding for balls, capsules, boxes, triangles and flat hulls; within 1e-10 of the
/// bodies' size for curved ones, overlapping or not.
pub(crate) fn nearest(a: &Convex, b: &Convex) -> Nearest {
    let scale = a.core.center().coords.amax().max(b.core.center().coords.amax());
    let near = 1e-14 * (1.0 + scale);
    if let Some((on_a, on_b)) = closed_form(&a.core, &b.core) {
        let offset = on_b - on_a;
        let distance_mm = offset.norm();
        if distance_mm > near {
            return apart(a, b, distance_mm, offset / distance_mm, on_a, on_b);
        }
        return overlapping(a, b, &[], UNKNOWN);
    }
    match distance(&a.core, &b.core) {
        Stand::Apart { distance_mm, normal, on_a, on_b, .. } if distance_mm > near => {
            apart(a, b, distance_mm, normal, on_a, on_b)
        }
        Stand::Apart { distance_mm, normal, .. } => overlapping(a, b, &[], (distance_mm, normal)),
        Stand::Meeting { simplex, push } => overlapping(a, b, &simplex, push),
    }
}

fn apart(
    a: &Convex,
    b: &Convex,
    distance_mm: f64,
    normal: Vector3<f64>,
    on_a: Point3<f64>,
    on_b: Point3<f64>,
) -> Nearest {
    Nearest {
        gap_mm: distance_mm - a.radius_mm - b.radius_mm,
        on_a: on_a + normal * a.radius_mm,
        on_b: on_b - normal * b.radius_mm,
        normal,
    }
}

/// No push is known yet.
const UNKNOWN: (f64, Vector3<f64>) = (f64::INFINITY, Vector3::new(0.0, 0.0, 1.0));

fn overlapping(a: &Convex, b: &Convex, simplex: &[Vertex], known: (f64, Vector3<f64>)) -> Nearest {
    let (push_mm, normal) = depth::push(&a.core, &b.core, simplex, known);
    // Parted by the push and a little more, the cores have nearest points like any others.
    let spare = 1e-3 * (1.0 + push_mm);
    let parted = b.core.shifted(&(normal * (push_mm + spare)));
    let points = closed_form(&a.core, &parted).unwrap_or_else(|| match distance(&a.core, &parted) {
        Stand::Apart { on_a, on_b, .. } => (on_a, on_b),
        Stand::Meeting { .. } => (a.core.support(&normal), parted.support(&-normal)),
    });
    let (on_a, on_b) = (points.0, points.1 - normal * (push_mm + spare));
    Nearest {
        gap_mm: -push_mm - a.radius_mm - b.radius_mm,
        on_a: on_a + normal * a.radius_mm,
        on_b: on_b - normal * b.radius_mm,
        normal,
    }
}

/// Nearest points where a formula gives them; the same point twice (or nearly) when cores meet.
fn closed_form(a: &Core, b: &Core) -> Option<(Point3<f64>, Point3<f64>)> {
    Some(match (a, b) {
        (Core::Point(p), other) => (*p, nearest_on(other, p)?),
        (other, Core::Point(q)) => (nearest_on(other, q)?, *q),
        (Core::Segment([p, q]), Core::Segment([r, s])) => segments([p, q], [r, s]),
        (Core::Segment(s), Core::Triangle(t)) => segment_triangle(s, t),
        (Core::Triangle(t), Core::Segment(s)) => {
            let (on_s, on_t) = segment_triangle(s, t);
            (on_t, on_s)
        }
        (Core::Triangle(s), Core::Triangle(t)) => triangles(s, t),
        _ => return None,
    })
}

/// The point of a core nearest to `point`, where a formula gives it.
fn nearest_on(core: &Core, point: &Point3<f64>) -> Option<Point3<f64>> {
    Some(match core {
        Core::Point(p) => *p,
        Core::Segment([from, to]) => on_segment(point, from, to),
        Core::Triangle(corners) => on_triangle(point, corners),
        Core::Block { center, axes, half_mm } => {
            let local = axes.transpose() * (point - center);
            center + axes * local.sup(&-half_mm).inf(half_mm)
        }
        _ => return None,
    })
}
