//! Circles in space.

use nalgebra::{Matrix6, Point3, Unit, Vector3};
use serde::Serialize;

use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading};

/// A circle fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CircleFit {
    /// Centre.
    pub center: Point3<f64>,
    /// Normal of its plane.
    pub normal: Unit<Vector3<f64>>,
    /// Radius, mm.
    pub radius_mm: f64,
    /// Covariance.
    pub covariance: Matrix6<f64>,
    /// Evidence.
    pub quality: FitQuality,
}

impl CircleFit {
    /// How well a body made from it is placed.
    pub fn placement(&self) -> FitPlacement {
        unimplemented!()
    }
}

/// Fits.
///
/// # Errors
/// [`FitError`].
pub fn fit_circle(readings: &[Reading]) -> Result<CircleFit, FitError> {
    fit_circle_with(readings, &FitOptions::default())
}

/// With choices.
///
/// # Errors
/// [`FitError`].
pub fn fit_circle_with(_readings: &[Reading], _options: &FitOptions) -> Result<CircleFit, FitError> {
    unimplemented!()
}
