//! One reading of a surface.

use nalgebra::{DMatrix, Point3, Unit, Vector3};
use serde::Serialize;

use super::FitError;
use crate::survey::Mark;

/// A point at which a surface was touched, with how well the point is known.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reading {
    /// Name of the mark; residuals and messages bear it.
    pub name: String,
    /// Where, mm.
    pub point: Point3<f64>,
    /// Standard uncertainty of each coordinate, mm; above zero.
    pub sigma_mm: f64,
}

impl Reading {
    /// A reading by its parts.
    pub fn new(name: impl Into<String>, point: Point3<f64>, sigma_mm: f64) -> Self {
        Reading { name: name.into(), point, sigma_mm }
    }

    /// The reading that a mark stands for: its place, and its uncertainty without the datum's share.
    pub fn of_mark(mark: &Mark) -> Self {
        Reading { name: mark.name.clone(), point: mark.position, sigma_mm: mark.sigma_mm }
    }
}

/// Refuses readings that no arithmetic should see, and too few different places.
pub(super) fn check(readings: &[Reading], feature: &'static str, least: usize) -> Result<(), FitError> {
    for reading in readings {
        let bad =
            |what: String, cure| Err(FitError::BadReading { reading: reading.name.clone(), what, cure });
        if !reading.point.iter().all(|x| x.is_finite()) {
            return bad("a place that is not a number".to_owned(), "measure it again or leave it out");
        }
        if !reading.sigma_mm.is_finite() || reading.sigma_mm <= 0.0 {
            return bad(
                format!("sigma {} mm", reading.sigma_mm),
                "state how far a reading is to be trusted: above zero, 1.5 mm for a tape, say",
            );
        }
    }
    let mut places: Vec<&Point3<f64>> = Vec::new();
    for reading in readings {
        if places.len() < least && !places.contains(&&reading.point) {
            places.push(&reading.point);
        }
    }
    if places.len() < least {
        return Err(FitError::TooFew { feature, least, given: places.len() });
    }
    Ok(())
}

/// Centroid, each reading weighing 1/sigma^2.
pub(super) fn centroid(readings: &[Reading]) -> Point3<f64> {
    let (mut sum, mut weight) = (Vector3::zeros(), 0.0);
    for reading in readings {
        let w = reading.sigma_mm.powi(-2);
        sum += reading.point.coords * w;
        weight += w;
    }
    Point3::from(sum / weight)
}

/// Standard uncertainty of one reading: root of the mean square.
pub(super) fn mean_sigma_mm(readings: &[Reading]) -> f64 {
    let sum: f64 = readings.iter().map(|r| r.sigma_mm * r.sigma_mm).sum();
    (sum / readings.len().max(1) as f64).sqrt()
}

/// Weighted spread about the centroid: directions from the least spread to the greatest, and the
/// sum of (distance along it over sigma) squared for each.
pub(super) fn spread(readings: &[Reading], about: &Point3<f64>) -> [(f64, Unit<Vector3<f64>>); 3] {
    // The singular values of the points keep twice the digits that the eigenvalues of their squares would.
    let rows = DMatrix::from_fn(readings.len().max(3), 3, |i, j| {
        readings.get(i).map_or(0.0, |r| (r.point - about)[j] / r.sigma_mm)
    });
    let svd = rows.svd(false, true);
    let mut found: Vec<(f64, Unit<Vector3<f64>>)> = Vec::with_capacity(3);
    if let Some(v_t) = &svd.v_t {
        for k in 0..3 {
            let direction = Vector3::new(v_t[(k, 0)], v_t[(k, 1)], v_t[(k, 2)]);
            found.push((svd.singular_values[k].powi(2), Unit::new_normalize(direction)));
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let axis = |k: usize| Unit::new_unchecked(Vector3::ith(k, 1.0));
    std::array::from_fn(|k| found.get(k).copied().unwrap_or((0.0, axis(k))))
}
