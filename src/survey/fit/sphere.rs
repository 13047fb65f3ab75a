//! Spheres.

use nalgebra::{DMatrix, DVector, Matrix4, Point3, Vector3};
use serde::Serialize;

use super::quality::{Judged, zone_width};
use super::reading::{centroid, check, mean_sigma_mm};
use super::round::{radius_surface_mm, solve};
use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading};
use crate::survey::levenberg::{Evaluation, minimise};

const CURE: &str = "take readings further round it, one of them well off the plane of the others";

/// A sphere fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SphereFit {
    /// Centre.
    pub center: Point3<f64>,
    /// Radius of the surface, mm.
    pub radius_mm: f64,
    /// Covariance of (centre x, y, z, radius), mm^2.
    pub covariance: Matrix4<f64>,
    /// Standard uncertainty of one reading, root mean square, mm.
    pub sigma_mm: f64,
    /// Evidence; a residual is positive outside.
    pub quality: FitQuality,
}

impl SphereFit {
    /// How well a ball made from it is placed. Radius and centre err together where only one side
    /// was read; the surface's part covers the worst side.
    pub fn placement(&self) -> FitPlacement {
        let none = Vector3::zeros();
        let covariance = DMatrix::from_fn(3, 3, |i, j| self.covariance[(i, j)]);
        let shared = Vector3::from_fn(|i, _| self.covariance[(i, 3)]).norm();
        let moves = [(Vector3::x(), none), (Vector3::y(), none), (Vector3::z(), none)];
        let form_mm = self.quality.form_sigma_mm(self.sigma_mm);
        FitPlacement::from_parameters(
            self.center,
            &covariance,
            &moves,
            &[],
            radius_surface_mm(self.covariance[(3, 3)], shared, form_mm),
            &self.quality.response,
        )
        .growing(
            &moves,
            &[0, 1, 2].map(|k| self.covariance[(k, 3)]),
            (3, self.covariance[(3, 3)]),
            form_mm,
            &self.quality.response,
        )
    }
}

/// Fits a sphere to at least four readings.
///
/// # Errors
/// [`FitError`]: too few readings, all in one plane, or on so small a patch that the radius stays open.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::survey::{fit_sphere, Reading};
/// use nalgebra::Point3;
/// let at = [[1.0, 2.0, 8.0], [1.0, 7.0, 3.0], [6.0, 2.0, 3.0], [1.0, 2.0, -2.0]];
/// let readings: Vec<Reading> = at.iter().map(|p| Reading::new("P", Point3::from(*p), 0.1)).collect();
/// let ball = fit_sphere(&readings).unwrap();
/// assert!((ball.radius_mm - 5.0).abs() < 1e-9); // about (1, 2, 3)
/// assert_eq!(ball.quality.rms_mm, None); // four readings, nothing to spare
/// ```
pub fn fit_sphere(readings: &[Reading]) -> Result<SphereFit, FitError> {
    fit_sphere_with(readings, &FitOptions::default())
}

/// [`fit_sphere`] with choices.
///
/// # Errors
/// As [`fit_sphere`].
pub fn fit_sphere_with(readings: &[Reading], options: &FitOptions) -> Result<SphereFit, FitError> {
    check(readings, "sphere", 4)?;
    options.check()?;
    let middle = centroid(readings);
    let known = options.known_radius_at_tip();
    let flat =
        |why: &str| FitError::Degenerate { feature: "sphere", why: why.to_owned(), cure: CURE.to_owned() };
    let start = starting_sphere(readings, &middle).ok_or_else(|| flat("they lie in one plane"))?;
    let start = known.map_or(start, |(radius, _)| (start.0, radius));
    let minimum = minimise(
        start,
        |&(center, radius): &(Vector3<f64>, f64)| {
            let mut builder = Evaluation::builder(4);
            for (i, reading) in readings.iter().enumerate() {
                let q = reading.point - middle - center;
                let away = q.try_normalize(1e-300).unwrap_or_else(Vector3::x);
                builder.reading(
                    i,
                    reading.sigma_mm,
                    q.norm() - radius,
                    away,
                    &[-away.x, -away.y, -away.z, -1.0],
                );
            }
            if let Some((known, sigma)) = known {
                builder.known(sigma, radius - known, &[0.0, 0.0, 0.0, 1.0]);
            }
            builder.done()
        },
        |&(center, radius), change| {
            (center + Vector3::new(change[0], change[1], change[2]), radius + change[3])
        },
    );
    let (center, radius) = minimum.state;
    let center = middle + center;
    let residuals_mm: Vec<f64> = readings.iter().map(|r| (r.point - center).norm() - radius).collect();
    let form_mm = zone_width(&residuals_mm);
    let (covariance, quality) = Judged {
        feature: "sphere",
        readings,
        least: 4 - usize::from(known.is_some()),
        residuals_mm,
        form_mm,
        minimum: &minimum,
        reading_covariance: options.reading_covariance.as_ref(),
        cure: CURE,
    }
    .judge()?;
    let radius_mm = radius - options.tip.offset_mm();
    if radius_mm <= 0.0 || covariance[(3, 3)].sqrt() > 0.5 * radius_mm {
        return Err(flat("they cover so little of it that its radius stays open"));
    }
    Ok(SphereFit {
        center,
        radius_mm,
        covariance: covariance.fixed_view::<4, 4>(0, 0).into_owned(),
        sigma_mm: mean_sigma_mm(readings),
        quality,
    })
}

/// Linear fit of x^2 + y^2 + z^2 = 2ax + 2by + 2cz + d about the centroid.
fn starting_sphere(readings: &[Reading], middle: &Point3<f64>) -> Option<(Vector3<f64>, f64)> {
    let offsets: Vec<Vector3<f64>> = readings.iter().map(|r| r.point - middle).collect();
    let scale = offsets.iter().map(|q| q.norm()).fold(0.0, f64::max);
    let a = DMatrix::from_fn(offsets.len(), 4, |i, j| if j < 3 { 2.0 * offsets[i][j] / scale } else { 1.0 });
    let b = DVector::from_iterator(offsets.len(), offsets.iter().map(|q| q.norm_squared() / (scale * scale)));
    let x = solve(a, &b)?;
    let center = Vector3::new(x[0], x[1], x[2]);
    let squared = x[3] + center.norm_squared();
    (squared > 0.0).then(|| (center * scale, squared.sqrt() * scale))
}
