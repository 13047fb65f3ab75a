//! Lines.

use nalgebra::{DMatrix, Matrix4, Point3, Unit, Vector3};
use serde::Serialize;

use super::plane::OPEN_TURN_RAD;
use super::quality::Judged;
use super::reading::{centroid, check, mean_sigma_mm, spread};
use super::round::square_to;
use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading, Tip};
use crate::survey::levenberg::{Evaluation, Minimum};

/// A line fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LineFit {
    /// Weighted centroid of the readings, on the line.
    pub point: Point3<f64>,
    /// Direction; toward [`FitOptions::toward`], else from the first reading toward the last.
    pub direction: Unit<Vector3<f64>>,
    /// Two directions square to the line; (`square[0]`, `square[1]`, `direction`) is right-handed.
    pub square: [Vector3<f64>; 2],
    /// Least and greatest place of a reading along the line from `point`, mm.
    pub extent_mm: [f64; 2],
    /// Covariance of (shift along `square[0]`, `square[1]`, mm; turn about `square[0]`, `square[1]`, rad) about `point`.
    pub covariance: Matrix4<f64>,
    /// Standard uncertainty of one reading, root mean square, mm.
    pub sigma_mm: f64,
    /// Evidence; a residual is the distance from the line, never negative.
    pub quality: FitQuality,
}

impl LineFit {
    /// How well a rod or an edge made from this line is placed; along the line by a single reading.
    pub fn placement(&self) -> FitPlacement {
        let none = Vector3::zeros();
        let [u, v] = self.square;
        let covariance = DMatrix::from_fn(4, 4, |i, j| self.covariance[(i, j)]);
        FitPlacement::from_parameters(
            self.point,
            &covariance,
            &[(u, none), (v, none), (none, u), (none, v)],
            &[(self.direction.into_inner(), none, self.sigma_mm * self.sigma_mm)],
            self.quality.form_sigma_mm(self.sigma_mm),
            &self.quality.response,
        )
    }
}

/// Fits a line to at least two readings.
///
/// Orthogonal distances, each over its sigma; closed form, exact up to rounding.
///
/// # Errors
/// [`FitError`]: too few readings, or so close together that the line could point anywhere.
pub fn fit_line(readings: &[Reading]) -> Result<LineFit, FitError> {
    fit_line_with(readings, &FitOptions::default())
}

/// [`fit_line`] with choices; a line has no side, so a ball tip is refused.
///
/// # Errors
/// As [`fit_line`].
pub fn fit_line_with(readings: &[Reading], options: &FitOptions) -> Result<LineFit, FitError> {
    check(readings, "line", 2)?;
    options.check()?;
    if options.tip != Tip::Point {
        return Err(FitError::BadOption {
            what: "a line has no side from which a ball tip could be taken off".to_owned(),
            cure: "fit the two faces that meet in the edge, or read it with a point".to_owned(),
        });
    }
    let middle = centroid(readings);
    let [_, _, (length, along)] = spread(readings, &middle);
    if length <= 1.0 / (OPEN_TURN_RAD * OPEN_TURN_RAD) {
        return Err(FitError::Degenerate {
            feature: "line",
            why: "they lie so close together for their sigma that it could point anywhere".to_owned(),
            cure: "take the readings further apart".to_owned(),
        });
    }
    let toward =
        options.toward.map_or_else(|| readings[readings.len() - 1].point - readings[0].point, |d| *d);
    let direction = if along.dot(&toward) < 0.0 { -along } else { along };
    let (u, v) = square_to(&direction);
    let mut builder = Evaluation::builder(4);
    let mut residuals_mm = Vec::with_capacity(readings.len());
    let mut extent_mm = [f64::INFINITY, f64::NEG_INFINITY];
    for (i, reading) in readings.iter().enumerate() {
        let q = reading.point - middle;
        let h = q.dot(&direction);
        extent_mm = [extent_mm[0].min(h), extent_mm[1].max(h)];
        residuals_mm.push((q - *direction * h).norm());
        builder.reading(i, reading.sigma_mm, q.dot(&u), u, &[-1.0, 0.0, 0.0, -h]);
        builder.reading(i, reading.sigma_mm, q.dot(&v), v, &[0.0, -1.0, h, 0.0]);
    }
    let minimum = Minimum { state: (), evaluation: builder.done(), iterations: 1, converged: true };
    let form_mm = 2.0 * residuals_mm.iter().copied().fold(0.0, f64::max);
    let (covariance, quality) = Judged {
        feature: "line",
        readings,
        least: 2,
        residuals_mm,
        form_mm,
        minimum: &minimum,
        reading_covariance: options.reading_covariance.as_ref(),
        cure: "take the readings further apart",
    }
    .judge()?;
    Ok(LineFit {
        point: middle,
        direction,
        square: [u, v],
        extent_mm,
        covariance: covariance.fixed_view::<4, 4>(0, 0).into_owned(),
        sigma_mm: mean_sigma_mm(readings),
        quality,
    })
}
