//! The questions that resolving asks of solids. (Stand-in until their methods are merged: sizes are
//! judged here, mesh and cloud files are refused.)

use std::path::Path;

use nalgebra::Point3;

use crate::solid::{Mesh, Shape, ShapeError};
use crate::space::Bounds;

fn positive(what: &'static str, value_mm: f64) -> Result<(), ShapeError> {
    if value_mm > 0.0 && value_mm.is_finite() { Ok(()) } else { Err(ShapeError::Size { what, value_mm }) }
}

pub(super) fn validate(shape: &Shape) -> Result<(), ShapeError> {
    match shape {
        Shape::TorusArc(arc) => positive("ring less tube radius", arc.ring_radius_mm - arc.tube_radius_mm),
        Shape::Hull(hull) => positive("points beyond three", hull.points.len() as f64 - 3.0),
        Shape::Plate(plate) => positive("corners beyond two", plate.outline.len() as f64 - 2.0),
        Shape::Tube(tube) => positive("points beyond one", tube.corners.len() as f64 - 1.0),
        _ => Ok(()),
    }
}

pub(super) fn bounds(shape: &Shape) -> Bounds {
    let half = match shape {
        Shape::Block(block) => block.size_mm / 2.0,
        Shape::Cylinder(bar) => nalgebra::Vector3::new(bar.radius_mm, bar.radius_mm, bar.length_mm / 2.0),
        Shape::Ball(ball) => nalgebra::Vector3::repeat(ball.radius_mm),
        _ => nalgebra::Vector3::zeros(),
    };
    Bounds { min: Point3::from(-half), max: Point3::from(half) }
}

pub(super) fn read_mesh(_path: &Path, _units_mm: f64) -> Result<Mesh, String> {
    Err("this build reads no mesh files".to_owned())
}

pub(super) fn read_points(_path: &Path, _units_mm: f64) -> Result<Vec<Point3<f64>>, String> {
    Err("this build reads no point files".to_owned())
}
