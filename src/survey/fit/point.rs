//! Points: one place that was read once or several times.

use nalgebra::{DMatrix, Matrix3, Point3, Vector3};
use serde::Serialize;

use super::quality::Judged;
use super::reading::{centroid, check, mean_sigma_mm};
use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading, Tip};
use crate::survey::levenberg::{Evaluation, Minimum};

/// A point fitted to readings of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PointFit {
    /// Weighted mean of the readings.
    pub point: Point3<f64>,
    /// Covariance of its shift along x, y, z, mm^2.
    pub covariance: Matrix3<f64>,
    /// Standard uncertainty of one reading, root mean square, mm.
    pub sigma_mm: f64,
    /// Evidence; a residual is the distance from the point, never negative.
    pub quality: FitQuality,
}

impl PointFit {
    /// How well a ball about the point is placed; its turn is left open and counts for nothing.
    pub fn placement(&self) -> FitPlacement {
        let none = Vector3::zeros();
        FitPlacement::from_parameters(
            self.point,
            &DMatrix::from_fn(3, 3, |i, j| self.covariance[(i, j)]),
            &[(Vector3::x(), none), (Vector3::y(), none), (Vector3::z(), none)],
            &[],
            self.quality.form_sigma_mm(self.sigma_mm),
            &self.quality.response,
        )
    }
}

/// The weighted mean of one or more readings of one point; closed form, linear in their number.
///
/// # Errors
/// [`FitError`]: no reading, or one that is no number.
pub fn fit_point(readings: &[Reading]) -> Result<PointFit, FitError> {
    fit_point_with(readings, &FitOptions::default())
}

/// [`fit_point`] with choices; a point has no side, so a ball tip is refused.
///
/// # Errors
/// As [`fit_point`].
pub fn fit_point_with(readings: &[Reading], options: &FitOptions) -> Result<PointFit, FitError> {
    check(readings, "point", 1)?;
    options.check()?;
    if options.tip != Tip::Point {
        return Err(FitError::BadOption {
            what: "a point has no side from which a ball tip could be taken off".to_owned(),
            cure: "read it with a point, or put the marks into a survey without `tip`".to_owned(),
        });
    }
    let point = centroid(readings);
    let mut builder = Evaluation::builder(3);
    for (i, reading) in readings.iter().enumerate() {
        for k in 0..3 {
            let e = Vector3::ith(k, 1.0);
            builder.reading(i, reading.sigma_mm, (reading.point - point)[k], e, &[-e.x, -e.y, -e.z]);
        }
    }
    let residuals_mm: Vec<f64> = readings.iter().map(|reading| (reading.point - point).norm()).collect();
    let minimum = Minimum { state: (), evaluation: builder.done(), iterations: 1, converged: true };
    let (covariance, quality) = Judged {
        feature: "point",
        readings,
        least: 1,
        form_mm: 2.0 * residuals_mm.iter().copied().fold(0.0, f64::max),
        residuals_mm,
        minimum: &minimum,
        reading_covariance: options.reading_covariance.as_ref(),
        cure: "read the point again",
    }
    .judge()?;
    Ok(PointFit {
        point,
        covariance: covariance.fixed_view::<3, 3>(0, 0).into_owned(),
        sigma_mm: mean_sigma_mm(readings),
        quality,
    })
}
