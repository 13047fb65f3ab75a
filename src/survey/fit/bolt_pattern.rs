//! Bolt patterns: holes evenly round a circle, by their centres.

use nalgebra::{DMatrix, Point3, Rotation3, SMatrix, UnitQuaternion, Vector3};
use serde::Serialize;

use super::quality::Judged;
use super::reading::{check, mean_sigma_mm};
use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading, Tip, fit_circle};
use crate::survey::levenberg::{Evaluation, minimise};

const CURE: &str = "read the holes' centres, three or more of them, no two of one hole";

/// A bolt pattern fitted to centres of holes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoltPatternFit {
    /// Middle of the pattern.
    pub center: Point3<f64>,
    /// Toward the first reading's hole, square to it in the plane, and out of the plane (toward
    /// [`FitOptions::toward`]); right-handed.
    pub axes: [Vector3<f64>; 3],
    /// Radius of the bolt circle, mm.
    pub radius_mm: f64,
    /// Holes in the whole pattern.
    pub holes: usize,
    /// Hole of each reading, from 0, counted from the first axis toward the second.
    pub hole_of: Vec<usize>,
    /// Covariance of (shift along the three axes, mm; turn about them, rad; radius, mm), turns about `center`.
    pub covariance: SMatrix<f64, 7, 7>,
    /// Standard uncertainty of one reading, root mean square, mm.
    pub sigma_mm: f64,
    /// Evidence; a residual is how far a hole is from where it should be, never negative.
    pub quality: FitQuality,
}

impl BoltPatternFit {
    /// Where a hole should be.
    pub fn hole(&self, number: usize) -> Point3<f64> {
        let angle = std::f64::consts::TAU * number as f64 / self.holes as f64;
        self.center + (self.axes[0] * angle.cos() + self.axes[1] * angle.sin()) * self.radius_mm
    }

    /// How well a flange made from it is placed.
    pub fn placement(&self) -> FitPlacement {
        let none = Vector3::zeros();
        let [u, v, n] = self.axes;
        let covariance = DMatrix::from_fn(6, 6, |i, j| self.covariance[(i, j)]);
        FitPlacement::from_parameters(
            self.center,
            &covariance,
            &[(u, none), (v, none), (n, none), (none, u), (none, v), (none, n)],
            &[],
            self.quality.form_sigma_mm(self.sigma_mm),
            &self.quality.response,
        )
    }
}

/// Fits a pattern of `holes` evenly spaced holes to the centres of three or more of them, in any order.
///
/// # Errors
/// [`FitError`]: too few readings or holes, two readings of one hole, or centres on one line.
pub fn fit_bolt_pattern(readings: &[Reading], holes: usize) -> Result<BoltPatternFit, FitError> {
    fit_bolt_pattern_with(readings, holes, &FitOptions::default())
}

/// Middle, axes, radius.
type State = (Point3<f64>, Rotation3<f64>, f64);

/// [`fit_bolt_pattern`] with choices.
///
/// # Errors
/// As [`fit_bolt_pattern`]; a ball tip is refused, for a centre has no side.
pub fn fit_bolt_pattern_with(
    readings: &[Reading],
    holes: usize,
    options: &FitOptions,
) -> Result<BoltPatternFit, FitError> {
    check(readings, "bolt pattern", 3)?;
    options.check()?;
    if options.tip != Tip::Point {
        return Err(FitError::BadOption {
            what: "the centre of a hole has no side from which a ball tip could be taken off".to_owned(),
            cure: "fit a circle to each hole, and the pattern to their centres".to_owned(),
        });
    }
    if holes < 3 || readings.len() > holes {
        return Err(FitError::BadOption {
            what: format!("{} readings of a pattern of {holes} holes", readings.len()),
            cure: "give the number of holes in the whole pattern, three or more, and one reading a hole"
                .to_owned(),
        });
    }
    let circle = fit_circle(readings)?;
    let n = match options.toward {
        Some(toward) if circle.normal.dot(&toward) < 0.0 => -circle.normal,
        _ => circle.normal,
    };
    let out = readings[0].point - circle.center;
    let u = (out - *n * out.dot(&n)).normalize();
    let axes = Rotation3::from_basis_unchecked(&[u, n.cross(&u), *n]);
    let step = std::f64::consts::TAU / holes as f64;
    let hole_of: Vec<usize> = readings
        .iter()
        .map(|reading| {
            let q = axes.inverse_transform_vector(&(reading.point - circle.center));
            (q.y.atan2(q.x) / step).round().rem_euclid(holes as f64) as usize % holes
        })
        .collect();
    for (k, hole) in hole_of.iter().enumerate() {
        if let Some(first) = hole_of[..k].iter().position(|known| known == hole) {
            return Err(FitError::Degenerate {
                feature: "bolt pattern",
                why: format!(
                    "{} and {} are nearest to the same hole",
                    readings[first].name, readings[k].name
                ),
                cure: CURE.to_owned(),
            });
        }
    }
    let minimum = minimise(
        (circle.center, axes, circle.radius_mm),
        |state| evaluate(readings, &hole_of, step, state),
        |(center, axes, radius): &State, change| {
            let moved = axes * Vector3::new(change[0], change[1], change[2]);
            let turn = Rotation3::new(axes * Vector3::new(change[3], change[4], change[5]));
            let next = UnitQuaternion::from_rotation_matrix(&(turn * axes)).to_rotation_matrix();
            (center + moved, next, radius + change[6])
        },
    );
    let (center, axes, radius_mm) = minimum.state;
    let residuals_mm: Vec<f64> = readings
        .iter()
        .zip(&hole_of)
        .map(|(reading, hole)| {
            let (sin, cos) = (step * *hole as f64).sin_cos();
            (reading.point - center - axes * Vector3::new(radius_mm * cos, radius_mm * sin, 0.0)).norm()
        })
        .collect();
    let form_mm = 2.0 * residuals_mm.iter().copied().fold(0.0, f64::max);
    let (covariance, quality) = Judged {
        feature: "bolt pattern",
        readings,
        least: 3,
        residuals_mm,
        form_mm,
        minimum: &minimum,
        reading_covariance: options.reading_covariance.as_ref(),
        cure: CURE,
    }
    .judge()?;
    let axis = |k: usize| axes.matrix().column(k).into_owned();
    Ok(BoltPatternFit {
        center,
        axes: [axis(0), axis(1), axis(2)],
        radius_mm,
        holes,
        hole_of,
        covariance: covariance.fixed_view::<7, 7>(0, 0).into_owned(),
        sigma_mm: mean_sigma_mm(readings),
        quality,
    })
}

fn evaluate(readings: &[Reading], hole_of: &[usize], step: f64, state: &State) -> Evaluation {
    let (center, axes, radius) = state;
    let mut builder = Evaluation::builder(7);
    for (i, (reading, hole)) in readings.iter().zip(hole_of).enumerate() {
        let (sin, cos) = (step * *hole as f64).sin_cos();
        let q = axes.inverse_transform_vector(&(reading.point - center));
        let spoke = Vector3::new(cos, sin, 0.0);
        for k in 0..3 {
            let e = Vector3::ith(k, 1.0);
            let turned = q.cross(&e);
            let row = [-e.x, -e.y, -e.z, -turned.x, -turned.y, -turned.z, -spoke[k]];
            builder.reading(i, reading.sigma_mm, q[k] - radius * spoke[k], axes * e, &row);
        }
    }
    builder.done()
}
