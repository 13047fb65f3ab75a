//! Cylinders.

use nalgebra::{DMatrix, Matrix5, Point3, Unit, Vector3};
use serde::Serialize;

use super::axis_search::{End, choose, promising, size_mm};
use super::plane::OPEN_TURN_RAD;
use super::quality::{Judged, zone_width};
use super::reading::{centroid, check, mean_sigma_mm};
use super::round::{facing, radius_surface_mm, seen_along, square_to, starting_circle, tilted};
use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading};
use crate::survey::levenberg::{Evaluation, Minimum, minimise};

const CURE: &str = "take readings at two places or more along it, three or more round it at each";

/// A cylinder fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CylinderFit {
    /// Point of the axis nearest to the centroid of the readings.
    pub point: Point3<f64>,
    /// Direction of the axis; toward [`FitOptions::toward`], else with its greatest component positive.
    pub direction: Unit<Vector3<f64>>,
    /// Two directions square to the axis; (`square[0]`, `square[1]`, `direction`) is right-handed.
    pub square: [Vector3<f64>; 2],
    /// Radius of the surface, mm.
    pub radius_mm: f64,
    /// Least and greatest place of a reading along the axis from `point`, mm.
    pub extent_mm: [f64; 2],
    /// Covariance of (shift along `square[0]`, `square[1]`, mm; turn about `square[0]`, `square[1]`,
    /// rad; radius, mm), turns about `point`.
    pub covariance: Matrix5<f64>,
    /// Standard uncertainty of one reading, root mean square, mm.
    pub sigma_mm: f64,
    /// Evidence; a residual is positive outside.
    pub quality: FitQuality,
}

impl CylinderFit {
    /// How well a cylinder made from it is placed.
    ///
    /// Across the axis by the fit; along it by the single readings that make its ends. Radius and
    /// place err together where only one side was read; the surface's part covers the worst side.
    pub fn placement(&self) -> FitPlacement {
        let none = Vector3::zeros();
        let [u, v] = self.square;
        let covariance = DMatrix::from_fn(4, 4, |i, j| self.covariance[(i, j)]);
        let shared = shared_with_radius(&covariance_row(&self.covariance), self.extent_mm);
        let moves = [(u, none), (v, none), (none, u), (none, v)];
        let form_mm = self.quality.form_sigma_mm(self.sigma_mm);
        FitPlacement::from_parameters(
            self.point,
            &covariance,
            &moves,
            &[(self.direction.into_inner(), none, self.sigma_mm * self.sigma_mm)],
            radius_surface_mm(self.covariance[(4, 4)], shared, form_mm),
            &self.quality.response,
        )
        .growing(
            &moves,
            &covariance_row(&self.covariance),
            (4, self.covariance[(4, 4)]),
            form_mm,
            &self.quality.response,
        )
    }
}

fn covariance_row(covariance: &Matrix5<f64>) -> [f64; 4] {
    std::array::from_fn(|k| covariance[(k, 4)])
}

/// Greatest covariance, along the extent, of the radius with the axis's shift sideways, mm^2.
pub(super) fn shared_with_radius(row: &[f64; 4], extent_mm: [f64; 2]) -> f64 {
    extent_mm.into_iter().map(|h| (row[0] + h * row[3]).hypot(row[1] - h * row[2])).fold(0.0, f64::max)
}

/// Fits a cylinder to at least five readings.
///
/// Orthogonal distances, each over its sigma. Many axis directions are tried; when two cylinders
/// fit as well, that is an error, not a guess: six or seven readings are often too few to tell.
///
/// # Errors
/// [`FitError`]: too few readings, more than one cylinder through them, or an axis or radius left open.
pub fn fit_cylinder(readings: &[Reading]) -> Result<CylinderFit, FitError> {
    fit_cylinder_with(readings, &FitOptions::default())
}

/// Point of the axis from the centroid, direction, radius.
type State = (Vector3<f64>, Unit<Vector3<f64>>, f64);

/// [`fit_cylinder`] with choices.
///
/// # Errors
/// As [`fit_cylinder`].
pub fn fit_cylinder_with(readings: &[Reading], options: &FitOptions) -> Result<CylinderFit, FitError> {
    check(readings, "cylinder", 5)?;
    options.check()?;
    let middle = centroid(readings);
    let points: Vec<Point3<f64>> = readings.iter().map(|r| r.point).collect();
    let known = options.known_radius_at_tip();
    let starts = promising(readings, options, |direction| {
        let (across, _) = seen_along(&points, &middle, direction);
        let (center, radius) = starting_circle(&across)?;
        let (u, v) = square_to(direction);
        let radius = known.map_or(radius, |(radius, _)| radius);
        let cost = across
            .iter()
            .zip(readings)
            .map(|(p, reading)| (((p - center).norm() - radius) / reading.sigma_mm).powi(2))
            .sum();
        Some(((u * center.x + v * center.y, *direction, radius), cost))
    });
    let ends = starts.into_iter().map(|start| refine(readings, &middle, known, start)).collect();
    let describe = |(_, direction, radius): &State| End { direction: *direction, radius_mm: *radius };
    let chosen = choose("cylinder", options, ends, describe, size_mm(readings, &middle))?;
    let (center, direction, radius) = chosen.state;
    // The covariance is given about the direction that is told, so the Jacobian is too.
    let direction = facing(direction, options.toward.as_ref());
    let minimum =
        Minimum { evaluation: evaluate(readings, &middle, known, &(center, direction, radius)), ..chosen };
    let point = middle + center;
    let (mut residuals_mm, mut extent_mm) = (Vec::new(), [f64::INFINITY, f64::NEG_INFINITY]);
    for reading in readings {
        let q = reading.point - point;
        let h = q.dot(&direction);
        extent_mm = [extent_mm[0].min(h), extent_mm[1].max(h)];
        residuals_mm.push((q - *direction * h).norm() - radius);
    }
    let form_mm = zone_width(&residuals_mm);
    let (covariance, quality) = Judged {
        feature: "cylinder",
        readings,
        least: 5 - usize::from(known.is_some()),
        residuals_mm,
        form_mm,
        minimum: &minimum,
        reading_covariance: options.reading_covariance.as_ref(),
        cure: CURE,
    }
    .judge()?;
    let open =
        |why: &str| FitError::Degenerate { feature: "cylinder", why: why.to_owned(), cure: CURE.to_owned() };
    let radius_mm = radius - options.tip.offset_mm();
    if radius_mm <= 0.0 || covariance[(4, 4)].sqrt() > 0.5 * radius_mm {
        return Err(open("they cover so little of its round that its radius stays open"));
    }
    if covariance[(2, 2)].max(covariance[(3, 3)]).sqrt() > OPEN_TURN_RAD {
        return Err(open("they lie so close together along it that its direction stays open"));
    }
    let (u, v) = square_to(&direction);
    Ok(CylinderFit {
        point,
        direction,
        square: [u, v],
        radius_mm,
        extent_mm,
        covariance: covariance.fixed_view::<5, 5>(0, 0).into_owned(),
        sigma_mm: mean_sigma_mm(readings),
        quality,
    })
}

fn evaluate(
    readings: &[Reading],
    middle: &Point3<f64>,
    known: Option<(f64, f64)>,
    state: &State,
) -> Evaluation {
    let (center, direction, radius) = state;
    let (u, v) = square_to(direction);
    let mut builder = Evaluation::builder(5);
    for (i, reading) in readings.iter().enumerate() {
        let q = reading.point - middle - center;
        let h = q.dot(direction);
        let across = q - **direction * h;
        let e = across.try_normalize(1e-300).unwrap_or(u);
        let (eu, ev) = (e.dot(&u), e.dot(&v));
        builder.reading(i, reading.sigma_mm, across.norm() - radius, e, &[-eu, -ev, h * ev, -h * eu, -1.0]);
    }
    if let Some((known, sigma)) = known {
        builder.known(sigma, radius - known, &[0.0, 0.0, 0.0, 0.0, 1.0]);
    }
    builder.done()
}

fn refine(
    readings: &[Reading],
    middle: &Point3<f64>,
    known: Option<(f64, f64)>,
    start: State,
) -> Minimum<State> {
    minimise(
        start,
        |state| evaluate(readings, middle, known, state),
        |(center, direction, radius), change| {
            let (u, v) = square_to(direction);
            let center = center + u * change[0] + v * change[1];
            let direction = tilted(direction, change[2], change[3]);
            // Slid along the axis to stay nearest to the centroid.
            (center - *direction * center.dot(&direction), direction, radius + change[4])
        },
    )
}
