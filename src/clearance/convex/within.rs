//! Whether two triangles come within a limit, and no more.

use nalgebra::{Point3, Vector3};

use super::triangle::triangles_under;

/// Rounding of a projection, as a share of what is projected.
const ROUNDING: f64 = 1e-13;

/// How two triangles' shadows along an axis lie to each other.
enum Shadows {
    /// Apart by the limit or more.
    Apart,
    /// They overlap, beyond doubt.
    Over,
    /// Neither.
    Near,
}

/// Whether the nearest points of two triangles are nearer than `limit_mm`; exact as [`triangles_under`] is.
///
/// Most pairs that are asked about are told apart along the normal of one, or across an edge of each, and most that
/// meet overlap along all eleven of these; only the rest needs the nearest points.
///
/// # Source
/// Two convex polyhedra are apart only if they are along a face's normal or a cross product of two edges: the
/// separating axis theorem (Ericson, *Real-Time Collision Detection* (2005), 5.2.1, from memory).
#[inline]
pub(crate) fn triangles_within(s: &[Point3<f64>; 3], t: &[Point3<f64>; 3], limit_mm: f64) -> bool {
    let limit_sq = limit_mm.max(0.0) * limit_mm.max(0.0);
    // All seen from one corner: differences of near points, so that little is lost.
    let a = [Vector3::zeros(), s[1] - s[0], s[2] - s[0]];
    let b = [t[0] - s[0], t[1] - s[0], t[2] - s[0]];
    let far_sq = a[1].norm_squared().max(a[2].norm_squared()).max(b[0].norm_squared());
    let far_sq = far_sq.max(b[1].norm_squared()).max(b[2].norm_squared());
    let edges_a = [a[1], a[2] - a[1], -a[2]];
    let edges_b = [b[1] - b[0], b[2] - b[1], b[0] - b[2]];
    let mut over = true;
    let ask = |axis: &Vector3<f64>, one: [f64; 2], other: [f64; 2]| {
        let axis_sq = axis.norm_squared();
        let (one, other) = (sorted(one), sorted(other));
        let apart = (other[0] - one[1]).max(one[0] - other[1]);
        let doubt_sq = ROUNDING * ROUNDING * axis_sq * far_sq;
        match apart {
            apart if apart > 0.0 && apart * apart >= limit_sq * axis_sq + doubt_sq => Shadows::Apart,
            apart if apart < 0.0 && apart * apart > doubt_sq => Shadows::Over,
            _ => Shadows::Near,
        }
    };
    let mut told_apart = |shadows: Shadows| {
        over &= matches!(shadows, Shadows::Over);
        matches!(shadows, Shadows::Apart)
    };
    let normal_a = a[1].cross(&a[2]);
    let heights = [normal_a.dot(&b[0]), normal_a.dot(&b[1]), normal_a.dot(&b[2])];
    if told_apart(ask(&normal_a, [0.0, 0.0], span(heights))) {
        return false;
    }
    let normal_b = edges_b[0].cross(&edges_b[1]);
    let level = normal_b.dot(&b[0]);
    let heights = [0.0, normal_b.dot(&a[1]), normal_b.dot(&a[2])];
    if told_apart(ask(&normal_b, span(heights), [level, level])) {
        return false;
    }
    for i in 0..3 {
        for j in 0..3 {
            // Both ends of an edge have one shadow across it.
            let axis = edges_a[i].cross(&edges_b[j]);
            let one = [axis.dot(&a[i]), axis.dot(&a[(i + 2) % 3])];
            let other = [axis.dot(&b[j]), axis.dot(&b[(j + 2) % 3])];
            if told_apart(ask(&axis, one, other)) {
                return false;
            }
        }
    }
    over || triangles_under(s, t, limit_mm).is_some_and(|(p, q)| (q - p).norm_squared() < limit_sq)
}

#[inline]
fn sorted([a, b]: [f64; 2]) -> [f64; 2] {
    if a < b { [a, b] } else { [b, a] }
}

#[inline]
fn span([a, b, c]: [f64; 3]) -> [f64; 2] {
    [a.min(b).min(c), a.max(b).max(c)]
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Corners on a coarse lattice, so that triangles touch, lie in one plane and have no area often, or anywhere.
    fn corner() -> impl Strategy<Value = Point3<f64>> {
        prop_oneof![
            (-3..4i32, -3..4i32, -2..3i32).prop_map(|(x, y, z)| Point3::new(
                f64::from(x),
                f64::from(y),
                f64::from(z)
            )),
            (-3.0..3.0f64, -3.0..3.0f64, -3.0..3.0f64).prop_map(|(x, y, z)| Point3::new(x, y, z)),
        ]
    }

    fn triangle() -> impl Strategy<Value = [Point3<f64>; 3]> {
        [corner(), corner(), corner()]
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(20_000))]
        #[test]
        fn says_what_the_nearest_points_say(s in triangle(), t in triangle(), limit in prop_oneof![Just(1e-9), Just(0.02), 0.0..2.0f64]) {
            let (p, q) = super::super::triangle::triangles(&s, &t);
            let gap = (q - p).norm();
            // Where rounding alone decides, either will do.
            if (gap - limit).abs() > 1e-12 {
                prop_assert_eq!(triangles_within(&s, &t, limit), gap < limit, "gap {} limit {}", gap, limit);
            }
        }
    }
}
