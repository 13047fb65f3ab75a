//! Slots: two straight sides with round ends, read along their outline in one plane.

use nalgebra::{DMatrix, Point3, Rotation3, SMatrix, UnitQuaternion, Vector3};
use serde::Serialize;

use super::quality::{Judged, zone_width};
use super::reading::{centroid, check, mean_sigma_mm, spread};
use super::round::radius_surface_mm;
use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading};
use crate::survey::levenberg::{Evaluation, minimise};

const CURE: &str = "take two readings or more on each side and three or more on each round end";

/// A slot fitted to readings of its outline.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SlotFit {
    /// Middle.
    pub center: Point3<f64>,
    /// Along the slot, across it, and out of its plane (toward [`FitOptions::toward`]); right-handed.
    pub axes: [Vector3<f64>; 3],
    /// Distance of the round ends' centres, mm.
    pub centers_apart_mm: f64,
    /// Width, mm; the round ends' diameter.
    pub width_mm: f64,
    /// Covariance of (shift along the three axes, mm; turn about them, rad; half the distance of the centres, half the
    /// width, mm), turns about `center`.
    pub covariance: SMatrix<f64, 8, 8>,
    /// Standard uncertainty of one reading, root mean square, mm.
    pub sigma_mm: f64,
    /// Evidence; a residual is positive outside the outline, seen in the plane.
    pub quality: FitQuality,
}

impl SlotFit {
    /// Length over all, mm.
    pub fn length_mm(&self) -> f64 {
        self.centers_apart_mm + self.width_mm
    }

    /// How well a slot made from it is placed.
    pub fn placement(&self) -> FitPlacement {
        let none = Vector3::zeros();
        let [u, v, n] = self.axes;
        let c = &self.covariance;
        let covariance = DMatrix::from_fn(6, 6, |i, j| c[(i, j)]);
        let sizes = c[(7, 7)].max(c[(6, 6)] + c[(7, 7)] + 2.0 * c[(6, 7)]);
        let shared = (0..2).map(|k| c[(k, 6)].abs() + c[(k, 7)].abs()).fold(0.0, f64::max);
        FitPlacement::from_parameters(
            self.center,
            &covariance,
            &[(u, none), (v, none), (n, none), (none, u), (none, v), (none, n)],
            &[],
            radius_surface_mm(sizes, shared, self.quality.form_sigma_mm(self.sigma_mm)),
            &self.quality.response,
        )
    }
}

/// Fits a slot to at least five readings of its outline, all in one plane.
///
/// Distances from the outline in the slot's plane and from the plane, each over its sigma.
///
/// # Errors
/// [`FitError`]: too few readings, or an outline that is round, or open somewhere.
pub fn fit_slot(readings: &[Reading]) -> Result<SlotFit, FitError> {
    fit_slot_with(readings, &FitOptions::default())
}

/// Middle from the centroid, axes, half the distance of the centres, half the width.
type State = (Vector3<f64>, Rotation3<f64>, f64, f64);

/// [`fit_slot`] with choices; a known radius is half the width. A ball tip is taken off in the plane.
///
/// # Errors
/// As [`fit_slot`].
pub fn fit_slot_with(readings: &[Reading], options: &FitOptions) -> Result<SlotFit, FitError> {
    check(readings, "slot", 5)?;
    options.check()?;
    let middle = centroid(readings);
    let [(_, n), _, (_, u)] = spread(readings, &middle);
    let n = match options.toward {
        Some(toward) if n.dot(&toward) < 0.0 => -n,
        _ => n,
    };
    let known = options.known_radius_at_tip();
    let axes = Rotation3::from_basis_unchecked(&[*u, n.cross(&u), *n]);
    let seen: Vec<Vector3<f64>> =
        readings.iter().map(|r| axes.inverse_transform_vector(&(r.point - middle))).collect();
    let range = |k: usize| {
        let low = seen.iter().map(|q| q[k]).fold(f64::INFINITY, f64::min);
        let high = seen.iter().map(|q| q[k]).fold(f64::NEG_INFINITY, f64::max);
        ((low + high) / 2.0, (high - low) / 2.0)
    };
    let ((x, long), (y, wide)) = (range(0), range(1));
    let start = (axes * Vector3::new(x, y, 0.0), axes, (long - wide).max(0.05 * long), wide);
    let minimum = minimise(
        start,
        |state| evaluate(readings, &middle, known, state),
        |(center, axes, half, radius): &State, change| {
            let moved = axes * Vector3::new(change[0], change[1], change[2]);
            let turn = Rotation3::new(axes * Vector3::new(change[3], change[4], change[5]));
            // Renormalised, so that many small turns do not shear the frame.
            let next = UnitQuaternion::from_rotation_matrix(&(turn * axes)).to_rotation_matrix();
            (center + moved, next, half + change[6], radius + change[7])
        },
    );
    let (center, axes, half, radius) = minimum.state;
    let open =
        |why: &str| FitError::Degenerate { feature: "slot", why: why.to_owned(), cure: CURE.to_owned() };
    let center = middle + center;
    let residuals_mm: Vec<f64> = readings
        .iter()
        .map(|reading| {
            let q = axes.inverse_transform_vector(&(reading.point - center));
            (q.x - q.x.clamp(-half.abs(), half.abs())).hypot(q.y) - radius
        })
        .collect();
    let form_mm = zone_width(&residuals_mm);
    let (covariance, quality) = Judged {
        feature: "slot",
        readings,
        least: 5,
        residuals_mm,
        form_mm,
        minimum: &minimum,
        reading_covariance: options.reading_covariance.as_ref(),
        cure: CURE,
    }
    .judge()?;
    let width = radius - options.tip.offset_mm();
    if width <= 0.0 || covariance[(7, 7)].sqrt() > 0.5 * width {
        return Err(open("they leave its width open"));
    }
    if half < 2.0 * covariance[(6, 6)].sqrt() {
        return Err(FitError::Degenerate {
            feature: "slot",
            why: "its ends' centres are not further apart than their own uncertainty (k = 2)".to_owned(),
            cure: "fit a circle".to_owned(),
        });
    }
    let axis = |k: usize| axes.matrix().column(k).into_owned();
    Ok(SlotFit {
        center,
        axes: [axis(0), axis(1), axis(2)],
        centers_apart_mm: 2.0 * half,
        width_mm: 2.0 * width,
        covariance: covariance.fixed_view::<8, 8>(0, 0).into_owned(),
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
    let (center, axes, half, radius) = state;
    let mut builder = Evaluation::builder(8);
    for (i, reading) in readings.iter().enumerate() {
        let q = axes.inverse_transform_vector(&(reading.point - middle - center));
        let past = q.x - q.x.clamp(-half.abs(), half.abs());
        let s = past.hypot(q.y).max(1e-12);
        let g = Vector3::new(past / s, q.y / s, 0.0);
        // A small turn w of the slot changes what a fixed point sees by -w x q.
        let turned = q.cross(&g);
        let end = if past == 0.0 { 0.0 } else { -past.abs() / s };
        builder.reading(
            i,
            reading.sigma_mm,
            s - radius,
            axes * g,
            &[-g.x, -g.y, 0.0, -turned.x, -turned.y, -turned.z, end, -1.0],
        );
        let n = Vector3::z();
        let turned = q.cross(&n);
        builder.reading(
            i,
            reading.sigma_mm,
            q.z,
            axes * n,
            &[0.0, 0.0, -1.0, -turned.x, -turned.y, 0.0, 0.0, 0.0],
        );
    }
    if let Some((known, sigma)) = known {
        builder.known(sigma, radius - known, &[0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0]);
    }
    builder.done()
}
