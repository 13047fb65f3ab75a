//! Lines.

use nalgebra::{Matrix4, Point3, Unit, Vector3};
use serde::Serialize;

use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading};

/// A line fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LineFit {
    /// Weighted centroid of the readings, on the line.
    pub point: Point3<f64>,
    /// Direction.
    pub direction: Unit<Vector3<f64>>,
    /// Least and greatest place of a reading along the line from `point`, mm.
    pub extent_mm: [f64; 2],
    /// Covariance.
    pub covariance: Matrix4<f64>,
    /// Evidence.
    pub quality: FitQuality,
}

impl LineFit {
    /// How well a body made from it is placed.
    pub fn placement(&self) -> FitPlacement {
        unimplemented!()
    }
}

/// Fits.
///
/// # Errors
/// [`FitError`].
pub fn fit_line(readings: &[Reading]) -> Result<LineFit, FitError> {
    fit_line_with(readings, &FitOptions::default())
}

/// With choices.
///
/// # Errors
/// [`FitError`].
pub fn fit_line_with(_readings: &[Reading], _options: &FitOptions) -> Result<LineFit, FitError> {
    unimplemented!()
}
