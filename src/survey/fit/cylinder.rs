//! Cylinders.

use nalgebra::{Matrix5, Point3, Unit, Vector3};
use serde::Serialize;

use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading};

/// A cylinder fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CylinderFit {
    /// Point of the axis nearest to the centroid of the readings.
    pub point: Point3<f64>,
    /// Direction of the axis.
    pub direction: Unit<Vector3<f64>>,
    /// Radius, mm.
    pub radius_mm: f64,
    /// Least and greatest place of a reading along the axis from `point`, mm.
    pub extent_mm: [f64; 2],
    /// Covariance.
    pub covariance: Matrix5<f64>,
    /// Evidence.
    pub quality: FitQuality,
}

impl CylinderFit {
    /// How well a body made from it is placed.
    pub fn placement(&self) -> FitPlacement {
        unimplemented!()
    }
}

/// Fits.
///
/// # Errors
/// [`FitError`].
pub fn fit_cylinder(readings: &[Reading]) -> Result<CylinderFit, FitError> {
    fit_cylinder_with(readings, &FitOptions::default())
}

/// With choices.
///
/// # Errors
/// [`FitError`].
pub fn fit_cylinder_with(_readings: &[Reading], _options: &FitOptions) -> Result<CylinderFit, FitError> {
    unimplemented!()
}
