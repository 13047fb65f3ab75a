//! The nearest point of a flat region's edge, and what becomes of it when the region gets thickness.

use nalgebra::{Point2, Point3, Unit, Vector2, Vector3};

use super::super::Closest;
use super::super::closest::NOISE_MM;

/// The nearest point of a region's edge.
#[derive(Clone, Copy, Debug)]
pub(in super::super) struct Flat {
    /// On the edge.
    pub(in super::super) point: Point2<f64>,
    /// Negative within the region.
    pub(in super::super) distance_mm: f64,
    /// Out of the region, of unit length.
    pub(in super::super) normal: Vector2<f64>,
}

impl Flat {
    /// Of a disc about the origin; from its centre, the point toward +x.
    pub(in super::super) fn of_disc(at: &Point2<f64>, radius_mm: f64) -> Self {
        let from_center = at.coords.norm();
        let normal = if from_center > NOISE_MM { at.coords / from_center } else { Vector2::x() };
        Flat { point: Point2::from(normal * radius_mm), distance_mm: from_center - radius_mm, normal }
    }

    /// Of a region bounded by rings. Each ring says whether the region lies to its left as it runs:
    /// an outline that runs counter-clockwise, a hole that runs clockwise. Of equally near edges the
    /// first is taken.
    pub(in super::super) fn of_rings<'a>(
        at: &Point2<f64>,
        rings: impl IntoIterator<Item = (&'a [Point2<f64>], Runs)>,
    ) -> Self {
        let mut best = (f64::INFINITY, *at, Vector2::x());
        let mut within = false;
        for (ring, runs) in rings {
            for (a, b) in edges(ring) {
                let edge = b - a;
                let length_sq = edge.norm_squared();
                let along =
                    if length_sq > 0.0 { ((at - a).dot(&edge) / length_sq).clamp(0.0, 1.0) } else { 0.0 };
                let point = a + edge * along;
                let distance_sq = (at - point).norm_squared();
                if distance_sq < best.0 {
                    let right = Vector2::new(edge.y, -edge.x);
                    best = (distance_sq, point, if runs == Runs::RegionLeft { right } else { -right });
                }
                if (a.y > at.y) != (b.y > at.y) && at.x < a.x + edge.x * (at.y - a.y) / edge.y {
                    within = !within;
                }
            }
        }
        let (distance_sq, point, face) = best;
        let distance = distance_sq.sqrt();
        let sign = if within { -1.0 } else { 1.0 };
        let normal = if distance > NOISE_MM {
            (at - point) * (sign / distance)
        } else {
            face.try_normalize(0.0).unwrap_or_else(Vector2::x)
        };
        Flat { point, distance_mm: sign * distance, normal }
    }

    /// The nearest surface point of the region extruded from `bottom_mm` to `top_mm`, seen from `at`.
    ///
    /// From inside, of equally near faces a flat one is taken before the edge, the top before the
    /// bottom.
    pub(in super::super) fn extruded(&self, at: &Point3<f64>, bottom_mm: f64, top_mm: f64) -> Closest {
        let (above, below) = (at.z - top_mm, bottom_mm - at.z);
        let (beyond, z, up) = if above >= below { (above, top_mm, 1.0) } else { (below, bottom_mm, -1.0) };
        let cap_normal = Vector3::new(0.0, 0.0, up);
        let side_normal = Vector3::new(self.normal.x, self.normal.y, 0.0);
        let cap = Closest {
            point: Point3::new(at.x, at.y, z),
            distance_mm: beyond,
            normal: Unit::new_unchecked(cap_normal),
        };
        let side = Closest {
            point: Point3::new(self.point.x, self.point.y, at.z),
            distance_mm: self.distance_mm,
            normal: Unit::new_unchecked(side_normal),
        };
        match (self.distance_mm <= 0.0, beyond <= 0.0) {
            (true, true) if beyond >= self.distance_mm => cap,
            (true, false) => cap,
            (_, true) => side,
            (false, false) => {
                let distance_mm = self.distance_mm.hypot(beyond);
                let normal =
                    cap_normal * (beyond / distance_mm) + side_normal * (self.distance_mm / distance_mm);
                let point = Point3::new(self.point.x, self.point.y, z);
                Closest { point, distance_mm, normal: Unit::new_normalize(normal) }
            }
        }
    }
}

/// On which side of a ring the region lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in super::super) enum Runs {
    /// To the left as the ring runs.
    RegionLeft,
    /// To the right.
    RegionRight,
}

/// The edges of a ring, the last back to the first point.
pub(super) fn edges(ring: &[Point2<f64>]) -> impl Iterator<Item = (Point2<f64>, Point2<f64>)> + '_ {
    ring.iter().copied().zip(ring.iter().copied().cycle().skip(1))
}

/// Area of a ring by the shoelace formula, positive when it runs counter-clockwise.
pub(in super::super) fn signed_area(ring: &[Point2<f64>]) -> f64 {
    area_and_centroid(ring).0
}

/// Signed area and centroid of a ring; the centroid of one without area is its first point.
pub(in super::super) fn area_and_centroid(ring: &[Point2<f64>]) -> (f64, Point2<f64>) {
    let Some(origin) = ring.first().copied() else {
        return (0.0, Point2::origin());
    };
    let (mut double, mut moment) = (0.0, Vector2::zeros());
    for (a, b) in edges(ring) {
        let (a, b) = (a - origin, b - origin);
        let part = a.perp(&b);
        double += part;
        moment += (a + b) * part;
    }
    let center = if double == 0.0 { Vector2::zeros() } else { moment / (3.0 * double) };
    (double / 2.0, origin + center)
}
