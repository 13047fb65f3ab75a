//! Cones.

use nalgebra::{Matrix6, Point3, Unit, Vector3};
use serde::Serialize;

use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading};

/// A cone fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ConeFit {
    /// Point of the axis nearest to the centroid of the readings.
    pub point: Point3<f64>,
    /// Direction of the axis, toward the wide end.
    pub direction: Unit<Vector3<f64>>,
    /// Radius at `point`, mm.
    pub radius_mm: f64,
    /// Half of the opening angle, radians, above zero.
    pub half_angle_rad: f64,
    /// Least and greatest place of a reading along the axis from `point`, mm.
    pub extent_mm: [f64; 2],
    /// Covariance.
    pub covariance: Matrix6<f64>,
    /// Evidence.
    pub quality: FitQuality,
}

impl ConeFit {
    /// How well a body made from it is placed.
    pub fn placement(&self) -> FitPlacement {
        unimplemented!()
    }
}

/// Fits.
///
/// # Errors
/// [`FitError`].
pub fn fit_cone(readings: &[Reading]) -> Result<ConeFit, FitError> {
    fit_cone_with(readings, &FitOptions::default())
}

/// With choices.
///
/// # Errors
/// [`FitError`].
pub fn fit_cone_with(_readings: &[Reading], _options: &FitOptions) -> Result<ConeFit, FitError> {
    unimplemented!()
}
