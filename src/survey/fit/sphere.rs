//! Spheres.

use nalgebra::{Matrix4, Point3};
use serde::Serialize;

use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading};

/// A sphere fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SphereFit {
    /// Centre.
    pub center: Point3<f64>,
    /// Radius, mm.
    pub radius_mm: f64,
    /// Covariance of (centre x, y, z, radius), mm^2.
    pub covariance: Matrix4<f64>,
    /// Evidence.
    pub quality: FitQuality,
}

impl SphereFit {
    /// How well a body made from it is placed.
    pub fn placement(&self) -> FitPlacement {
        unimplemented!()
    }
}

/// Fits.
///
/// # Errors
/// [`FitError`].
pub fn fit_sphere(readings: &[Reading]) -> Result<SphereFit, FitError> {
    fit_sphere_with(readings, &FitOptions::default())
}

/// With choices.
///
/// # Errors
/// [`FitError`].
pub fn fit_sphere_with(_readings: &[Reading], _options: &FitOptions) -> Result<SphereFit, FitError> {
    unimplemented!()
}
