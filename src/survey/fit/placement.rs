//! What a fit's covariance means for the body made from it.

use nalgebra::{Matrix3, Matrix6, Point3, Vector3};
use serde::Serialize;

/// How well a fitted body is placed: the covariance of a small shift and a small turn about a
/// point, in the frame of the readings, and the standard uncertainty of the surface itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitPlacement {
    /// The point about which the small turn is taken.
    pub about: Point3<f64>,
    /// Covariance of (shift x, y, z, turn x, y, z): mm^2, mm rad, rad^2.
    pub covariance: Matrix6<f64>,
    /// Standard uncertainty of the surface: radius or thickness, and form beyond the readings' own scatter, mm.
    pub surface_mm: f64,
}
