//! One reading of a surface.

use nalgebra::Point3;
use serde::Serialize;

use crate::survey::Mark;

/// A point at which a surface was touched, with how well the point is known.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reading {
    /// Name of the mark; residuals and messages bear it.
    pub name: String,
    /// Where, mm.
    pub point: Point3<f64>,
    /// Standard uncertainty of each coordinate, mm; above zero.
    pub sigma_mm: f64,
}

impl Reading {
    /// A reading by its parts.
    pub fn new(name: impl Into<String>, point: Point3<f64>, sigma_mm: f64) -> Self {
        Reading { name: name.into(), point, sigma_mm }
    }

    /// The reading that a mark stands for: its place, and its uncertainty without the datum's share.
    pub fn of_mark(mark: &Mark) -> Self {
        Reading { name: mark.name.clone(), point: mark.position, sigma_mm: mark.sigma_mm }
    }
}
