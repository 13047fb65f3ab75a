//! Planes.

use nalgebra::{DMatrix, Matrix3, Point3, Rotation3, Translation3, Unit, UnitQuaternion, Vector3};
use serde::Serialize;

use super::quality::{Judged, zone_width};
use super::reading::{centroid, check, mean_sigma_mm, spread};
use super::round::facing;
use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading, Tip};
use crate::space::Pose;
use crate::survey::levenberg::{Evaluation, Minimum};

/// A turn known no better than this says that the readings leave it open, rad.
pub(super) const OPEN_TURN_RAD: f64 = 0.25;

/// A plane fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlaneFit {
    /// Weighted centroid of the readings, brought to the surface; in the plane.
    pub point: Point3<f64>,
    /// Normal; toward [`FitOptions::toward`], else with its greatest component positive.
    pub normal: Unit<Vector3<f64>>,
    /// In the plane, along the readings' greatest spread; (along, across, normal) is right-handed.
    pub along: Unit<Vector3<f64>>,
    /// In the plane, square to `along`.
    pub across: Unit<Vector3<f64>>,
    /// Covariance of (offset along the normal, mm; turn about `along`, turn about `across`, rad) about `point`.
    pub covariance: Matrix3<f64>,
    /// Variance of a turn about the normal that the readings' own places allow, rad^2.
    pub spin_variance: f64,
    /// Standard uncertainty of one reading, root mean square, mm.
    pub sigma_mm: f64,
    /// Evidence; a residual is positive on the normal's side.
    pub quality: FitQuality,
}

impl PlaneFit {
    /// Signed distance of a point from the plane, mm; positive on the normal's side.
    pub fn distance_mm(&self, point: &Point3<f64>) -> f64 {
        (point - self.point).dot(&self.normal)
    }

    /// The same plane with its normal turned to the side of `direction`.
    pub fn facing(mut self, direction: &Vector3<f64>) -> Self {
        if self.normal.dot(direction) < 0.0 {
            // Half a turn about `along`: offset and the turn about `across` change sign.
            self.normal = -self.normal;
            self.across = -self.across;
            let signs = Matrix3::from_diagonal(&Vector3::new(-1.0, 1.0, -1.0));
            self.covariance = signs * self.covariance * signs;
            for parameter in [0, 2] {
                self.quality.response.row_mut(parameter).neg_mut();
            }
            for residual in &mut self.quality.residuals {
                residual.residual_mm = -residual.residual_mm;
                residual.standardised = residual.standardised.map(|s| -s);
            }
        }
        self
    }

    /// Pose of the frame with origin `point`, x `along`, y `across`, z `normal`.
    pub fn frame(&self) -> Pose {
        let axes = Matrix3::from_columns(&[
            self.along.into_inner(),
            self.across.into_inner(),
            self.normal.into_inner(),
        ]);
        let turn = UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(axes));
        Pose::from_parts(Translation3::from(self.point.coords), turn)
    }

    /// How well a plate made from this plane is placed.
    ///
    /// Across the plane by the fit. In the plane, where a fit says nothing, an edge is as uncertain
    /// as the single reading that makes it. Surface: form beyond the readings' scatter.
    pub fn placement(&self) -> FitPlacement {
        let none = Vector3::zeros();
        let covariance = DMatrix::from_fn(3, 3, |i, j| self.covariance[(i, j)]);
        let edge = self.sigma_mm * self.sigma_mm;
        FitPlacement::from_parameters(
            self.point,
            &covariance,
            &[
                (self.normal.into_inner(), none),
                (none, self.along.into_inner()),
                (none, self.across.into_inner()),
            ],
            &[
                (self.along.into_inner(), none, edge),
                (self.across.into_inner(), none, edge),
                (none, self.normal.into_inner(), self.spin_variance),
            ],
            self.quality.form_sigma_mm(self.sigma_mm),
            &self.quality.response,
        )
    }
}

/// Fits a plane to at least three readings.
///
/// Orthogonal distances, each over its sigma; closed form, exact up to rounding.
///
/// # Errors
/// [`FitError`]: too few readings, or so nearly on one line that the plane could turn about it.
///
/// # Source
/// Shakarji, J. Res. NIST 103 (1998) 633: the normal is the direction of least spread.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::survey::{fit_plane, Reading};
/// use nalgebra::Point3;
/// let at = [[0.0, 0.0, 20.0], [100.0, 0.0, 20.0], [0.0, 100.0, 20.0], [100.0, 100.0, 20.0]];
/// let readings: Vec<Reading> =
///     at.iter().map(|p| Reading::new("P", Point3::from(*p), 0.5)).collect();
/// let plane = fit_plane(&readings).unwrap();
/// assert_eq!(plane.normal.z, 1.0);
/// // Four readings of 0.5 mm know the plane to half of that at their middle.
/// assert!((plane.covariance[(0, 0)].sqrt() - 0.25).abs() < 1e-12);
/// ```
pub fn fit_plane(readings: &[Reading]) -> Result<PlaneFit, FitError> {
    fit_plane_with(readings, &FitOptions::default())
}

/// [`fit_plane`] with choices.
///
/// # Errors
/// As [`fit_plane`]; a ball tip without [`FitOptions::toward`].
pub fn fit_plane_with(readings: &[Reading], options: &FitOptions) -> Result<PlaneFit, FitError> {
    check(readings, "plane", 3)?;
    options.check()?;
    if options.tip != Tip::Point && options.toward.is_none() {
        return Err(FitError::BadOption {
            what: "a ball tip was given, but not on which side of the plane it stood".to_owned(),
            cure: "say toward which direction the plane faces".to_owned(),
        });
    }
    let middle = centroid(readings);
    let [(_, normal), (narrow, across), (_, along)] = spread(readings, &middle);
    let collinear = || FitError::Degenerate {
        feature: "plane",
        why: "they lie nearly on one line, about which it could turn".to_owned(),
        cure: format!(
            "add a reading well off the line of `{}` and `{}`",
            readings[0].name,
            readings[readings.len() - 1].name
        ),
    };
    if narrow <= 1.0 / (OPEN_TURN_RAD * OPEN_TURN_RAD) {
        return Err(collinear());
    }
    let normal = facing(normal, options.toward.as_ref());
    let across = if along.cross(&across).dot(&normal) < 0.0 { -across } else { across };

    let mut builder = Evaluation::builder(3);
    let mut residuals_mm = Vec::with_capacity(readings.len());
    for (i, reading) in readings.iter().enumerate() {
        let q = reading.point - middle;
        let off = q.dot(&normal);
        residuals_mm.push(off);
        // A turn about `along` tips the normal against `across`; one about `across` tips it to `along`.
        builder.reading(i, reading.sigma_mm, off, *normal, &[-1.0, -q.dot(&across), q.dot(&along)]);
    }
    let minimum = Minimum { state: (), evaluation: builder.done(), iterations: 1, converged: true };
    let form_mm = zone_width(&residuals_mm);
    let (covariance, quality) = Judged {
        feature: "plane",
        readings,
        least: 3,
        residuals_mm,
        form_mm,
        minimum: &minimum,
        reading_covariance: options.reading_covariance.as_ref(),
        cure: "add a reading well off the line of the others",
    }
    .judge()?;
    let about_normal: f64 =
        readings.iter().map(|r| ((r.point - middle).cross(&normal).norm() / r.sigma_mm).powi(2)).sum();
    Ok(PlaneFit {
        point: middle - *normal * options.tip.offset_mm(),
        normal,
        along,
        across,
        covariance: covariance.fixed_view::<3, 3>(0, 0).into_owned(),
        spin_variance: 1.0 / about_normal,
        sigma_mm: mean_sigma_mm(readings),
        quality,
    })
}
