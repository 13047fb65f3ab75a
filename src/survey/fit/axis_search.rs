//! Choosing an axis: several starts, and whether their ends can be told apart.

use nalgebra::{Point3, Unit, Vector3};

use super::reading::{centroid, spread};
use super::round::half_sphere;
use super::{FitError, FitOptions, Reading};
use crate::survey::levenberg::Minimum;

/// Directions tried at first.
const DIRECTIONS: usize = 150;
/// Of these, how many are followed to their minimum.
const FOLLOWED: usize = 10;
/// Two ends whose sums of squares differ by less than this (three sigma) cannot be told apart.
const TELLS_APART: f64 = 9.0;

/// Axis starts, the most promising first: `start` gives a state and its sum of squares for a direction.
pub(super) fn promising<S>(
    readings: &[Reading],
    options: &FitOptions,
    start: impl Fn(&Unit<Vector3<f64>>) -> Option<(S, f64)>,
) -> Vec<S> {
    let mut directions: Vec<Unit<Vector3<f64>>> = half_sphere(DIRECTIONS).collect();
    directions.extend(spread(readings, &centroid(readings)).map(|(_, direction)| direction));
    directions.extend([Vector3::x_axis(), Vector3::y_axis(), Vector3::z_axis()]);
    let wanted = directions.len();
    directions.extend(options.toward);
    let mut found: Vec<(f64, S)> = Vec::new();
    let mut told = None;
    for (i, direction) in directions.iter().enumerate() {
        if let Some((state, cost)) = start(direction)
            && cost.is_finite()
        {
            if i == wanted {
                told = Some(state);
            } else {
                found.push((cost, state));
            }
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    told.into_iter().chain(found.into_iter().take(FOLLOWED).map(|(_, state)| state)).collect()
}

/// What tells one end from another.
pub(super) struct End {
    /// Direction of the axis, either sense.
    pub direction: Unit<Vector3<f64>>,
    /// Radius, mm.
    pub radius_mm: f64,
}

/// The best end, when no other fits as well; with [`FitOptions::toward`] the one that points there.
pub(super) fn choose<S>(
    feature: &'static str,
    options: &FitOptions,
    ends: Vec<Minimum<S>>,
    describe: impl Fn(&S) -> End,
    size_mm: f64,
) -> Result<Minimum<S>, FitError> {
    let iterations = ends.iter().map(|end| end.iterations).max().unwrap_or(0);
    let mut ends: Vec<(f64, End, Minimum<S>)> = ends
        .into_iter()
        .filter(|end| end.converged)
        .map(|end| (end.evaluation.chi_square(), describe(&end.state), end))
        .filter(|(_, end, _)| end.radius_mm > 0.0 && end.radius_mm < 100.0 * size_mm)
        .collect();
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let Some((least, _, best)) = ends.first() else {
        return Err(FitError::NotConverged { feature, iterations });
    };
    let (rows, columns) = best.evaluation.jacobian.shape();
    let scatter = if rows > columns { (least / (rows - columns) as f64).max(1.0) } else { 1.0 };
    let limit = least + TELLS_APART * scatter;
    ends.retain(|(chi_square, _, _)| *chi_square <= limit);
    if let Some(toward) = options.toward {
        ends.sort_by(|a, b| b.1.direction.dot(&toward).abs().total_cmp(&a.1.direction.dot(&toward).abs()));
    } else {
        let same = |a: &End, b: &End| {
            a.direction.cross(&b.direction).norm() < 1e-3
                && (a.radius_mm - b.radius_mm).abs() < 1e-3 * a.radius_mm
        };
        if let Some((_, rival, _)) = ends.iter().find(|(_, end, _)| !same(end, &ends[0].1)) {
            let words = |end: &End| {
                let d = end.direction;
                format!("radius {:.1} mm along [{:.2}, {:.2}, {:.2}]", end.radius_mm, d.x, d.y, d.z)
            };
            return Err(FitError::Degenerate {
                feature,
                why: format!(
                    "more than one fits as well: {} and {}",
                    words(&ends[0].1),
                    words(rival)
                ),
                cure: "say roughly along which direction its axis runs, or take more readings along and round it"
                    .to_owned(),
            });
        }
    }
    Ok(ends.swap_remove(0).2)
}

/// Greatest distance of a reading from their centroid, mm.
pub(super) fn size_mm(readings: &[Reading], middle: &Point3<f64>) -> f64 {
    readings.iter().map(|r| (r.point - middle).norm()).fold(0.0, f64::max)
}
