//! One triangle: nearest point, area, normal, and the slab behind it.

use nalgebra::{Matrix3, Point2, Point3, Unit, Vector3};

use super::Closest;
use super::polygon::{Flat, Runs};

/// Twice the area along the right-handed normal.
pub(super) fn double_area(corners: &[Point3<f64>; 3]) -> Vector3<f64> {
    (corners[1] - corners[0]).cross(&(corners[2] - corners[0]))
}

/// Right-handed normal; of a triangle without area, some direction across its longest side.
pub(super) fn normal(corners: &[Point3<f64>; 3]) -> Unit<Vector3<f64>> {
    Unit::try_new(double_area(corners), f64::MIN_POSITIVE).unwrap_or_else(|| {
        let along = longest_side(corners).try_normalize(0.0).unwrap_or_else(Vector3::x);
        super::sweep::perpendicular(&along)
    })
}

fn longest_side(corners: &[Point3<f64>; 3]) -> Vector3<f64> {
    let [a, b, c] = corners;
    [b - a, c - b, a - c].into_iter().fold(Vector3::zeros(), |longest, side| {
        if side.norm_squared() > longest.norm_squared() { side } else { longest }
    })
}

/// The nearest point of a segment.
fn nearest_on_segment(point: &Point3<f64>, from: &Point3<f64>, to: &Point3<f64>) -> Point3<f64> {
    let side = to - from;
    let length_sq = side.norm_squared();
    if length_sq == 0.0 {
        return *from;
    }
    from + side * ((point - from).dot(&side) / length_sq).clamp(0.0, 1.0)
}

/// The nearest point of a triangle; one without area is its sides.
///
/// # Source
/// The regions of a triangle by their barycentric signs: Ericson, *Real-Time Collision Detection*
/// (2005), 5.1.5 (from memory; checked here against a dense search).
pub(super) fn nearest(point: &Point3<f64>, corners: &[Point3<f64>; 3]) -> Point3<f64> {
    let [a, b, c] = corners;
    let (ab, ac) = (b - a, c - a);
    let ap = point - a;
    let (d1, d2) = (ab.dot(&ap), ac.dot(&ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return *a;
    }
    let bp = point - b;
    let (d3, d4) = (ab.dot(&bp), ac.dot(&bp));
    if d3 >= 0.0 && d4 <= d3 {
        return *b;
    }
    let cp = point - c;
    let (d5, d6) = (ab.dot(&cp), ac.dot(&cp));
    if d6 >= 0.0 && d5 <= d6 {
        return *c;
    }
    let (va, vb, vc) = (d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2);
    let total = va + vb + vc;
    // A sliver's weights are noise: its surface is its sides, to within that noise.
    let sliver = total <= 1e-14 * ab.norm_squared() * ac.norm_squared();
    if va > 0.0 && vb > 0.0 && vc > 0.0 && !sliver {
        return a + ab * (vb / total) + ac * (vc / total);
    }
    let mut best = nearest_on_segment(point, a, b);
    for (from, to) in [(b, c), (c, a)] {
        let other = nearest_on_segment(point, from, to);
        if (point - other).norm_squared() < (point - best).norm_squared() {
            best = other;
        }
    }
    best
}

/// The nearest surface point of a triangle with thickness behind it; of a bare triangle, from either
/// side, never inside.
pub(super) fn closest(point: &Point3<f64>, corners: &[Point3<f64>; 3], thickness_mm: f64) -> Closest {
    let up = normal(corners);
    if thickness_mm <= 0.0 {
        return Closest::outside(point, nearest(point, corners), up);
    }
    // The triangle's own plane: x along its longest side, z along its normal.
    let x = longest_side(corners)
        .try_normalize(0.0)
        .unwrap_or_else(|| super::sweep::perpendicular(&up).into_inner());
    let to_plane = Matrix3::from_columns(&[x, up.cross(&x), up.into_inner()]);
    let flat = |at: &Point3<f64>| to_plane.tr_mul(&(at - corners[0]));
    let ring = corners.map(|corner| {
        let local = flat(&corner);
        Point2::new(local.x, local.y)
    });
    let here = Point3::from(flat(point));
    let edge = Flat::of_rings(&Point2::new(here.x, here.y), [(ring.as_slice(), Runs::RegionLeft)]);
    let local = edge.extruded(&here, -thickness_mm, 0.0);
    Closest {
        point: corners[0] + to_plane * local.point.coords,
        distance_mm: local.distance_mm,
        normal: Unit::new_normalize(to_plane * local.normal.into_inner()),
    }
}

/// Six times the signed volume of the tetrahedron from a point to a triangle.
pub(super) fn six_volume(from: &Point3<f64>, corners: &[Point3<f64>; 3]) -> f64 {
    let [a, b, c] = corners;
    (a - from).dot(&(b - from).cross(&(c - from)))
}

/// Signed solid angle of a triangle over 2, radians, seen from a point; positive when it faces away.
///
/// # Source
/// Van Oosterom and Strackee, IEEE Trans. Biomed. Eng. 30 (1983) 125-126 (from memory; checked in
/// tests: a closed surface adds up to a whole sphere inside and to nothing outside).
pub(super) fn half_solid_angle(from: &Point3<f64>, corners: &[Point3<f64>; 3]) -> f64 {
    let [a, b, c] = corners.map(|corner| corner - from);
    let (la, lb, lc) = (a.norm(), b.norm(), c.norm());
    let above = a.dot(&b.cross(&c));
    let below = la * lb * lc + a.dot(&b) * lc + b.dot(&c) * la + c.dot(&a) * lb;
    above.atan2(below)
}
