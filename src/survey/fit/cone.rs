//! Cones.

use nalgebra::{DMatrix, DVector, Matrix6, Point3, Unit, Vector3};
use serde::Serialize;

use super::axis_search::{End, choose, promising, size_mm};
use super::cylinder::shared_with_radius;
use super::plane::OPEN_TURN_RAD;
use super::quality::{Judged, zone_width};
use super::reading::{centroid, check, mean_sigma_mm};
use super::round::{radius_surface_mm, seen_along, solve, square_to, tilted};
use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading};
use crate::survey::levenberg::{Evaluation, Minimum, minimise};

const CURE: &str = "take readings at three places or more along it, three or more round it at each";

/// A cone fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ConeFit {
    /// Point of the axis nearest to the centroid of the readings.
    pub point: Point3<f64>,
    /// Direction of the axis, toward the wide end.
    pub direction: Unit<Vector3<f64>>,
    /// Two directions square to the axis; (`square[0]`, `square[1]`, `direction`) is right-handed.
    pub square: [Vector3<f64>; 2],
    /// Radius of the surface at `point`, square to the axis, mm.
    pub radius_mm: f64,
    /// Half of the opening angle, rad, above zero.
    pub half_angle_rad: f64,
    /// Least and greatest place of a reading along the axis from `point`, mm.
    pub extent_mm: [f64; 2],
    /// Covariance of (shift along `square[0]`, `square[1]`, mm; turn about `square[0]`, `square[1]`,
    /// rad; radius at `point`, mm; half angle, rad), turns about `point`.
    pub covariance: Matrix6<f64>,
    /// Standard uncertainty of one reading, root mean square, mm.
    pub sigma_mm: f64,
    /// Evidence; a residual is positive outside.
    pub quality: FitQuality,
}

impl ConeFit {
    /// Radius of the surface, square to the axis, at a place along the axis from `point`, mm.
    pub fn radius_at_mm(&self, along_mm: f64) -> f64 {
        self.radius_mm + along_mm * self.half_angle_rad.tan()
    }

    /// How well a cone frustum made from it is placed; as for a cylinder, with the half angle's
    /// part taken at the worse end.
    pub fn placement(&self) -> FitPlacement {
        let none = Vector3::zeros();
        let [u, v] = self.square;
        let c = &self.covariance;
        let covariance = DMatrix::from_fn(4, 4, |i, j| c[(i, j)]);
        let growth = self.half_angle_rad.cos().powi(-2);
        let (mut radius_variance, mut shared) = (0.0f64, 0.0f64);
        for h in self.extent_mm {
            let slope = h * growth;
            radius_variance =
                radius_variance.max(c[(4, 4)] + 2.0 * slope * c[(4, 5)] + slope * slope * c[(5, 5)]);
            let row: [f64; 4] = std::array::from_fn(|k| c[(k, 4)] + slope * c[(k, 5)]);
            shared = shared.max(shared_with_radius(&row, [h, h]));
        }
        FitPlacement::from_parameters(
            self.point,
            &covariance,
            &[(u, none), (v, none), (none, u), (none, v)],
            &[(self.direction.into_inner(), none, self.sigma_mm * self.sigma_mm)],
            radius_surface_mm(radius_variance, shared, self.quality.form_sigma_mm(self.sigma_mm)),
            &self.quality.response,
        )
    }
}

/// Fits a cone to at least six readings.
///
/// Orthogonal distances, each over its sigma; many axis directions are tried.
///
/// # Errors
/// [`FitError`]: too few readings, more than one cone through them, or an axis or angle left open;
/// a taper that the readings cannot tell from none, which is a cylinder.
pub fn fit_cone(readings: &[Reading]) -> Result<ConeFit, FitError> {
    fit_cone_with(readings, &FitOptions::default())
}

/// Point of the axis from the centroid, direction, radius there, half angle (may be negative on the way).
type State = (Vector3<f64>, Unit<Vector3<f64>>, f64, f64);

/// [`fit_cone`] with choices; the known radius has no meaning here and is refused.
///
/// # Errors
/// As [`fit_cone`].
pub fn fit_cone_with(readings: &[Reading], options: &FitOptions) -> Result<ConeFit, FitError> {
    check(readings, "cone", 6)?;
    options.check()?;
    if options.known_radius_mm.is_some() {
        return Err(FitError::BadOption {
            what: "a cone has no one radius that could be known".to_owned(),
            cure: "leave the radius out, or fit a cylinder".to_owned(),
        });
    }
    let middle = centroid(readings);
    let points: Vec<Point3<f64>> = readings.iter().map(|r| r.point).collect();
    let size = size_mm(readings, &middle);
    let starts =
        promising(readings, options, |direction| starting_cone(readings, &points, &middle, direction, size));
    let ends = starts.into_iter().map(|start| refine(readings, &middle, start)).collect();
    let describe = |(_, direction, radius, _): &State| End { direction: *direction, radius_mm: radius.abs() };
    let chosen = choose("cone", options, ends, describe, size)?;
    let (center, mut direction, radius, mut half_angle) = chosen.state;
    if half_angle < 0.0 {
        (direction, half_angle) = (-direction, -half_angle);
    }
    let open =
        |why: &str| FitError::Degenerate { feature: "cone", why: why.to_owned(), cure: CURE.to_owned() };
    if half_angle > 1.5 {
        return Err(open("they lie nearly in one plane"));
    }
    let minimum = Minimum {
        evaluation: evaluate(readings, &middle, &(center, direction, radius, half_angle)),
        ..chosen
    };
    let point = middle + center;
    let (mut residuals_mm, mut extent_mm) = (Vec::new(), [f64::INFINITY, f64::NEG_INFINITY]);
    let (sin, cos) = half_angle.sin_cos();
    for reading in readings {
        let q = reading.point - point;
        let h = q.dot(&direction);
        extent_mm = [extent_mm[0].min(h), extent_mm[1].max(h)];
        residuals_mm.push(((q - *direction * h).norm() - radius) * cos - h * sin);
    }
    let form_mm = zone_width(&residuals_mm);
    let (covariance, quality) = Judged {
        feature: "cone",
        readings,
        least: 6,
        residuals_mm,
        form_mm,
        minimum: &minimum,
        reading_covariance: options.reading_covariance.as_ref(),
        cure: CURE,
    }
    .judge()?;
    if covariance[(2, 2)].max(covariance[(3, 3)]).sqrt() > OPEN_TURN_RAD {
        return Err(open("they lie so close together along it that its direction stays open"));
    }
    if half_angle < 2.0 * covariance[(5, 5)].sqrt() {
        return Err(FitError::Degenerate {
            feature: "cone",
            why: format!(
                "its half angle of {:.2} deg is not beyond its own uncertainty of {:.2} deg (k = 2)",
                half_angle.to_degrees(),
                2.0 * covariance[(5, 5)].sqrt().to_degrees()
            ),
            cure: "fit a cylinder".to_owned(),
        });
    }
    // Off the ball's centre the cone keeps its angle; its radius square to the axis moves by more than the ball's.
    let radius_mm = radius - options.tip.offset_mm() / cos;
    if radius_mm + extent_mm[0] * half_angle.tan() < -1e-9 * size {
        return Err(open("they would lie on both sides of its tip"));
    }
    let (u, v) = square_to(&direction);
    Ok(ConeFit {
        point,
        direction,
        square: [u, v],
        radius_mm,
        half_angle_rad: half_angle,
        extent_mm,
        covariance: covariance.fixed_view::<6, 6>(0, 0).into_owned(),
        sigma_mm: mean_sigma_mm(readings),
        quality,
    })
}

/// Linear fit about a direction: x^2 + y^2 = 2ax + 2by + c + dh + eh^2.
fn starting_cone(
    readings: &[Reading],
    points: &[Point3<f64>],
    middle: &Point3<f64>,
    direction: &Unit<Vector3<f64>>,
    size: f64,
) -> Option<(State, f64)> {
    let (across, along) = seen_along(points, middle, direction);
    let a = DMatrix::from_fn(points.len(), 5, |i, j| match j {
        0 | 1 => 2.0 * across[i][j] / size,
        2 => 1.0,
        3 => along[i] / size,
        _ => (along[i] / size).powi(2),
    });
    let b = DVector::from_iterator(points.len(), across.iter().map(|p| p.norm_squared() / (size * size)));
    let x = solve(a, &b)?;
    let squared = x[2] + x[0] * x[0] + x[1] * x[1];
    if squared <= 0.0 {
        return None;
    }
    let radius = squared.sqrt();
    let half_angle = (x[3] / (2.0 * radius)).atan();
    let (u, v) = square_to(direction);
    let state = ((u * x[0] + v * x[1]) * size, *direction, radius * size, half_angle);
    let cost = evaluate(readings, middle, &state).chi_square();
    Some((state, cost))
}

fn evaluate(readings: &[Reading], middle: &Point3<f64>, state: &State) -> Evaluation {
    let (center, direction, radius, half_angle) = state;
    let (u, v) = square_to(direction);
    let (sin, cos) = half_angle.sin_cos();
    let mut builder = Evaluation::builder(6);
    for (i, reading) in readings.iter().enumerate() {
        let q = reading.point - middle - center;
        let h = q.dot(direction);
        let across = q - **direction * h;
        let e = across.try_normalize(1e-300).unwrap_or(u);
        let (eu, ev, qu, qv) = (e.dot(&u), e.dot(&v), q.dot(&u), q.dot(&v));
        let off = across.norm() - radius;
        builder.reading(
            i,
            reading.sigma_mm,
            off * cos - h * sin,
            e * cos - **direction * sin,
            &[
                -eu * cos,
                -ev * cos,
                h * ev * cos + qv * sin,
                -h * eu * cos - qu * sin,
                -cos,
                -off * sin - h * cos,
            ],
        );
    }
    builder.done()
}

fn refine(readings: &[Reading], middle: &Point3<f64>, start: State) -> Minimum<State> {
    minimise(
        start,
        |state| evaluate(readings, middle, state),
        |(center, direction, radius, half_angle), change| {
            let (u, v) = square_to(direction);
            let center = center + u * change[0] + v * change[1];
            let direction = tilted(direction, change[2], change[3]);
            let half_angle = half_angle + change[5];
            let slid = center.dot(&direction);
            let radius = radius + change[4] - slid * half_angle.tan();
            (center - *direction * slid, direction, radius, half_angle)
        },
    )
}
