//! A straight round bar with round ends.

use std::f64::consts::PI;

use nalgebra::{Point3, Vector3};

use crate::space::{Bounds, Pose};

use super::bend::round_side;
use super::error::{not_negative, positive};
use super::{Closest, Mesh, Piece, ShapeError, Solid, extent, lathe};

/// A straight round bar with round ends, axis z, centred on the origin.
///
/// Closest point: from the core itself, the one toward +x.
#[derive(Clone, Debug, PartialEq)]
pub struct Capsule {
    /// Radius, mm.
    pub radius_mm: f64,
    /// Length of the straight core between the two end centres, mm; zero makes a ball.
    pub core_mm: f64,
}

impl Capsule {
    fn ends(&self) -> [Point3<f64>; 2] {
        [Point3::new(0.0, 0.0, -self.core_mm / 2.0), Point3::new(0.0, 0.0, self.core_mm / 2.0)]
    }
}

impl Solid for Capsule {
    fn validate(&self) -> Result<(), ShapeError> {
        positive("the capsule's radius", self.radius_mm)?;
        not_negative("the capsule's core length", self.core_mm)
    }

    fn bounds_in(&self, world_from_shape: &Pose) -> Bounds {
        let [from, to] = self.ends().map(|end| extent::of_ball(&(world_from_shape * end), self.radius_mm));
        from.union(&to)
    }

    fn volume_mm3(&self) -> f64 {
        PI * self.radius_mm.powi(2) * (self.core_mm + 4.0 / 3.0 * self.radius_mm)
    }

    fn area_mm2(&self) -> f64 {
        2.0 * PI * self.radius_mm * (self.core_mm + 2.0 * self.radius_mm)
    }

    fn center_of_mass(&self) -> Point3<f64> {
        Point3::origin()
    }

    fn closest(&self, point: &Point3<f64>) -> Closest {
        let half = self.core_mm / 2.0;
        let core = Point3::new(0.0, 0.0, point.z.max(-half).min(half));
        round_side(point, &core, self.radius_mm, Vector3::x_axis())
    }

    fn tessellate(&self, chord_mm: f64) -> Mesh {
        lathe::round_ends(self.radius_mm, self.core_mm, chord_mm)
    }

    fn pieces(&self) -> Vec<Piece> {
        let [from, to] = self.ends();
        vec![Piece::Capsule { from, to, radius_mm: self.radius_mm }]
    }
}
