//! A ball.

use std::f64::consts::PI;

use nalgebra::{Point3, Vector3};

use crate::space::{Bounds, Pose};

use super::bend::round_side;
use super::error::positive;
use super::{Closest, Mesh, Piece, ShapeError, Solid, extent, lathe};

/// A ball about the origin.
///
/// Closest point: from the centre itself, the one toward +x.
#[derive(Clone, Debug, PartialEq)]
pub struct Ball {
    /// Radius, mm.
    pub radius_mm: f64,
}

impl Solid for Ball {
    fn validate(&self) -> Result<(), ShapeError> {
        positive("the ball's radius", self.radius_mm)
    }

    fn bounds_in(&self, world_from_shape: &Pose) -> Bounds {
        extent::of_ball(&world_from_shape.translation.vector.into(), self.radius_mm)
    }

    fn volume_mm3(&self) -> f64 {
        4.0 / 3.0 * PI * self.radius_mm.powi(3)
    }

    fn area_mm2(&self) -> f64 {
        4.0 * PI * self.radius_mm.powi(2)
    }

    fn center_of_mass(&self) -> Point3<f64> {
        Point3::origin()
    }

    fn closest(&self, point: &Point3<f64>) -> Closest {
        round_side(point, &Point3::origin(), self.radius_mm, Vector3::x_axis())
    }

    fn tessellate(&self, chord_mm: f64) -> Mesh {
        lathe::round_ends(self.radius_mm, 0.0, chord_mm)
    }

    fn pieces(&self) -> Vec<Piece> {
        vec![Piece::Ball { center: Point3::origin(), radius_mm: self.radius_mm }]
    }
}
