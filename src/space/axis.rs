//! A directed line in space: what things turn about and slide along.

use nalgebra::{Point3, Unit, Vector3};

use super::Pose;

/// A directed line: a point on it and its direction, both in the same frame, millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axis {
    /// Any point on the line.
    pub through: Point3<f64>,
    /// Where the line heads; turns about it are right-handed.
    pub along: Unit<Vector3<f64>>,
}

impl Axis {
    /// The same line seen from another frame: `to_from_here` maps this frame into it.
    pub fn moved(&self, to_from_here: &Pose) -> Self {
        Axis { through: to_from_here * self.through, along: to_from_here * self.along }
    }

    /// Distance of a point from the line, millimetres.
    pub fn distance(&self, point: &Point3<f64>) -> f64 {
        let offset = point - self.through;
        (offset - self.along.into_inner() * offset.dot(&self.along)).norm()
    }
}
