//! A straight round bar with flat ends.

use std::f64::consts::PI;

use nalgebra::{Point2, Point3};

use crate::space::{Bounds, Pose};

use super::error::positive;
use super::polygon::Flat;
use super::{Closest, Frustum, Mesh, Piece, ShapeError, Solid};

/// A straight round bar with flat ends, axis z, centred on the origin.
///
/// Closest point: from the axis the side is met toward +x; where an end is as near as the side, the
/// end is taken, and of the two ends the one at +z.
#[derive(Clone, Debug, PartialEq)]
pub struct Cylinder {
    /// Radius, mm.
    pub radius_mm: f64,
    /// Full length along z, mm.
    pub length_mm: f64,
}

impl Cylinder {
    fn frustum(&self) -> Frustum {
        Frustum { bottom_radius_mm: self.radius_mm, top_radius_mm: self.radius_mm, length_mm: self.length_mm }
    }
}

impl Solid for Cylinder {
    fn validate(&self) -> Result<(), ShapeError> {
        positive("the cylinder's radius", self.radius_mm)?;
        positive("the cylinder's length", self.length_mm)
    }

    fn bounds_in(&self, world_from_shape: &Pose) -> Bounds {
        self.frustum().bounds_in(world_from_shape)
    }

    fn volume_mm3(&self) -> f64 {
        PI * self.radius_mm.powi(2) * self.length_mm
    }

    fn area_mm2(&self) -> f64 {
        2.0 * PI * self.radius_mm * (self.radius_mm + self.length_mm)
    }

    fn center_of_mass(&self) -> Point3<f64> {
        Point3::origin()
    }

    fn closest(&self, point: &Point3<f64>) -> Closest {
        let flat = Flat::of_disc(&Point2::new(point.x, point.y), self.radius_mm);
        flat.extruded(point, -self.length_mm / 2.0, self.length_mm / 2.0)
    }

    fn tessellate(&self, chord_mm: f64) -> Mesh {
        self.frustum().tessellate(chord_mm)
    }

    fn pieces(&self) -> Vec<Piece> {
        self.frustum().pieces()
    }
}
