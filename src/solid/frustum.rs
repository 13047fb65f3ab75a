//! A cone frustum.

use std::f64::consts::PI;

use nalgebra::{Point3, Unit, Vector2, Vector3};

use crate::space::{Bounds, Pose};

use super::closest::NOISE_MM;
use super::error::{not_negative, positive};
use super::{Closest, Mesh, Piece, ShapeError, Solid, extent, lathe};

/// A cone frustum, axis z, centred on the origin. One radius may be zero: a cone.
///
/// Closest point: from the axis the side is met toward +x; of equally near faces the first in the
/// order top, bottom, side.
#[derive(Clone, Debug, PartialEq)]
pub struct Frustum {
    /// Radius at z = -length/2, mm.
    pub bottom_radius_mm: f64,
    /// Radius at z = +length/2, mm.
    pub top_radius_mm: f64,
    /// Full length along z, mm.
    pub length_mm: f64,
}

impl Frustum {
    fn ends(&self) -> [Point3<f64>; 2] {
        [Point3::new(0.0, 0.0, -self.length_mm / 2.0), Point3::new(0.0, 0.0, self.length_mm / 2.0)]
    }
}

impl Solid for Frustum {
    fn validate(&self) -> Result<(), ShapeError> {
        not_negative("the cone's bottom radius", self.bottom_radius_mm)?;
        not_negative("the cone's top radius", self.top_radius_mm)?;
        positive("the cone's length", self.length_mm)?;
        if self.bottom_radius_mm == 0.0 && self.top_radius_mm == 0.0 {
            return Err(ShapeError::ConeWithoutRadius);
        }
        Ok(())
    }

    fn bounds_in(&self, world_from_shape: &Pose) -> Bounds {
        let [from, to] = self.ends().map(|end| world_from_shape * end);
        extent::of_frustum(&from, &to, self.bottom_radius_mm, self.top_radius_mm)
    }

    fn volume_mm3(&self) -> f64 {
        let (a, b) = (self.bottom_radius_mm, self.top_radius_mm);
        PI * self.length_mm / 3.0 * (a * a + a * b + b * b)
    }

    fn area_mm2(&self) -> f64 {
        let (a, b) = (self.bottom_radius_mm, self.top_radius_mm);
        PI * (a * a + b * b + (a + b) * (a - b).hypot(self.length_mm))
    }

    fn center_of_mass(&self) -> Point3<f64> {
        let (a, b) = (self.bottom_radius_mm, self.top_radius_mm);
        let above_bottom =
            self.length_mm / 4.0 * (a * a + 2.0 * a * b + 3.0 * b * b) / (a * a + a * b + b * b);
        Point3::new(0.0, 0.0, above_bottom - self.length_mm / 2.0)
    }

    /// In the half-plane through the axis and the point, the solid is a trapezoid with one side on
    /// the axis; the nearest of its other three sides is the nearest surface.
    fn closest(&self, point: &Point3<f64>) -> Closest {
        let radius = point.x.hypot(point.y);
        let out = if radius > NOISE_MM {
            Vector3::new(point.x / radius, point.y / radius, 0.0)
        } else {
            Vector3::x()
        };
        let half = self.length_mm / 2.0;
        let here = Vector2::new(radius, point.z);
        let (bottom, top) =
            (Vector2::new(self.bottom_radius_mm, -half), Vector2::new(self.top_radius_mm, half));
        let (below, above) = (Vector2::new(0.0, -half), Vector2::new(0.0, half));
        let slant = top - bottom;
        let side_normal = Vector2::new(slant.y, -slant.x) / slant.norm();
        let inside = (here - bottom).dot(&side_normal).max(here.y - half).max(-half - here.y) <= 0.0;
        let mut best = (f64::INFINITY, here, Vector2::y());
        for (from, to, normal) in
            [(above, top, Vector2::y()), (below, bottom, -Vector2::y()), (bottom, top, side_normal)]
        {
            let edge = to - from;
            let length_sq = edge.norm_squared();
            let along =
                if length_sq > 0.0 { ((here - from).dot(&edge) / length_sq).clamp(0.0, 1.0) } else { 0.0 };
            let at = from + edge * along;
            let distance = (here - at).norm();
            if distance < best.0 {
                best = (distance, at, normal);
            }
        }
        let lift = |flat: Vector2<f64>| out * flat.x + Vector3::z() * flat.y;
        let (distance, at, normal) = best;
        let face = Unit::new_unchecked(lift(normal));
        let on_surface = Point3::from(lift(at));
        if inside {
            Closest { point: on_surface, distance_mm: -distance, normal: face }
        } else {
            Closest::outside(point, on_surface, face)
        }
    }

    fn tessellate(&self, chord_mm: f64) -> Mesh {
        let half = self.length_mm / 2.0;
        let profile = [(0.0, -half), (self.bottom_radius_mm, -half), (self.top_radius_mm, half), (0.0, half)];
        lathe::turned(&profile, self.bottom_radius_mm.max(self.top_radius_mm), chord_mm)
    }

    fn pieces(&self) -> Vec<Piece> {
        let [from, to] = self.ends();
        vec![Piece::Frustum {
            from,
            to,
            from_radius_mm: self.bottom_radius_mm,
            to_radius_mm: self.top_radius_mm,
        }]
    }
}
