//! Planes.

use nalgebra::{Matrix3, Point3, Unit, Vector3};
use serde::Serialize;

use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading};
use crate::space::Pose;

/// A plane fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlaneFit {
    /// Weighted centroid of the readings, brought to the surface; in the plane.
    pub point: Point3<f64>,
    /// Normal; toward [`FitOptions::toward`], else with its greatest component positive.
    pub normal: Unit<Vector3<f64>>,
    /// In the plane, along the readings' greatest spread; `across` completes a right-handed set (along, across, normal).
    pub along: Unit<Vector3<f64>>,
    /// In the plane, square to `along`.
    pub across: Unit<Vector3<f64>>,
    /// Covariance of (offset along the normal, mm; turn about `along`, turn about `across`, rad) about `point`.
    pub covariance: Matrix3<f64>,
    /// Standard uncertainty of one reading, root mean square, mm.
    pub sigma_mm: f64,
    /// Evidence.
    pub quality: FitQuality,
}

impl PlaneFit {
    /// Signed distance of a point from the plane, mm; positive on the normal's side.
    pub fn distance_mm(&self, point: &Point3<f64>) -> f64 {
        (point - self.point).dot(&self.normal)
    }

    /// The same plane with its normal turned to the side of `direction`.
    pub fn facing(self, direction: &Vector3<f64>) -> Self {
        let _ = direction;
        unimplemented!()
    }

    /// Pose of the frame with origin `point`, x `along`, y `across`, z `normal`.
    pub fn frame(&self) -> Pose {
        unimplemented!()
    }

    /// How well a plate made from this plane is placed.
    pub fn placement(&self) -> FitPlacement {
        unimplemented!()
    }
}

/// Fits a plane to at least three readings.
///
/// # Errors
/// [`FitError`]: too few readings, or all on one line.
pub fn fit_plane(readings: &[Reading]) -> Result<PlaneFit, FitError> {
    fit_plane_with(readings, &FitOptions::default())
}

/// [`fit_plane`] with choices.
///
/// # Errors
/// As [`fit_plane`].
pub fn fit_plane_with(_readings: &[Reading], _options: &FitOptions) -> Result<PlaneFit, FitError> {
    unimplemented!()
}
