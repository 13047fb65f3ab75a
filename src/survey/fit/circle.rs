//! Circles in space.

use nalgebra::{DMatrix, Matrix6, Point3, Unit, Vector3};
use serde::Serialize;

use super::plane::OPEN_TURN_RAD;
use super::quality::{Judged, zone_width};
use super::reading::{centroid, check, mean_sigma_mm, spread};
use super::round::{facing, radius_surface_mm, seen_along, square_to, starting_circle, tilted};
use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading};
use crate::survey::levenberg::{Evaluation, Minimum, minimise};

const CURE: &str = "take readings further round it, well off the line of the others";

/// A circle fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CircleFit {
    /// Centre.
    pub center: Point3<f64>,
    /// Normal of its plane; toward [`FitOptions::toward`], else with its greatest component positive.
    pub normal: Unit<Vector3<f64>>,
    /// Two directions in its plane; (`square[0]`, `square[1]`, `normal`) is right-handed.
    pub square: [Vector3<f64>; 2],
    /// Radius, mm.
    pub radius_mm: f64,
    /// Covariance of (shift along `square[0]`, `square[1]`, `normal`, mm; turn about `square[0]`,
    /// `square[1]`, rad; radius, mm), turns about the centre.
    pub covariance: Matrix6<f64>,
    /// Standard uncertainty of one reading, root mean square, mm.
    pub sigma_mm: f64,
    /// Evidence; a residual is the distance from the circle, positive outside its radius.
    pub quality: FitQuality,
}

impl CircleFit {
    /// How well a disc made from it is placed. Radius and centre err together where only an arc
    /// was read; the surface's part covers the worst side.
    pub fn placement(&self) -> FitPlacement {
        let none = Vector3::zeros();
        let [u, v] = self.square;
        let covariance = DMatrix::from_fn(5, 5, |i, j| self.covariance[(i, j)]);
        let shared = self.covariance[(0, 5)].hypot(self.covariance[(1, 5)]);
        let moves = [(u, none), (v, none), (self.normal.into_inner(), none), (none, u), (none, v)];
        let form_mm = self.quality.form_sigma_mm(self.sigma_mm);
        FitPlacement::from_parameters(
            self.center,
            &covariance,
            &moves,
            &[],
            radius_surface_mm(self.covariance[(5, 5)], shared, form_mm),
            &self.quality.response,
        )
        .growing(
            &moves,
            &[0, 1, 2, 3, 4].map(|k| self.covariance[(k, 5)]),
            (5, self.covariance[(5, 5)]),
            form_mm,
            &self.quality.response,
        )
    }
}

/// Fits a circle to at least three readings: distances in space, off the plane and off the radius alike.
///
/// # Errors
/// [`FitError`]: too few readings, on one line, or on so short an arc that the radius stays open.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::survey::{fit_circle, Reading};
/// use nalgebra::Point3;
/// let at = [[10.0, 0.0, 0.0], [0.0, 10.0, 0.0], [0.0, 0.0, 10.0]];
/// let readings: Vec<Reading> = at.iter().map(|p| Reading::new("P", Point3::from(*p), 0.1)).collect();
/// let circle = fit_circle(&readings).unwrap();
/// assert!((circle.radius_mm - 10.0 * (2.0f64 / 3.0).sqrt()).abs() < 1e-9);
/// ```
pub fn fit_circle(readings: &[Reading]) -> Result<CircleFit, FitError> {
    fit_circle_with(readings, &FitOptions::default())
}

/// Centre from the centroid, normal, radius.
type State = (Vector3<f64>, Unit<Vector3<f64>>, f64);

/// [`fit_circle`] with choices.
///
/// # Errors
/// As [`fit_circle`].
pub fn fit_circle_with(readings: &[Reading], options: &FitOptions) -> Result<CircleFit, FitError> {
    check(readings, "circle", 3)?;
    options.check()?;
    let middle = centroid(readings);
    let open =
        |why: &str| FitError::Degenerate { feature: "circle", why: why.to_owned(), cure: CURE.to_owned() };
    let [(_, normal), (narrow, _), _] = spread(readings, &middle);
    if narrow <= 1.0 / (OPEN_TURN_RAD * OPEN_TURN_RAD) {
        return Err(open("they lie nearly on one line"));
    }
    let points: Vec<Point3<f64>> = readings.iter().map(|r| r.point).collect();
    let (u, v) = square_to(&normal);
    let (center, radius) = starting_circle(&seen_along(&points, &middle, &normal).0)
        .ok_or_else(|| open("they lie nearly on one line"))?;
    let known = options.known_radius_at_tip();
    let start = (u * center.x + v * center.y, normal, known.map_or(radius, |(radius, _)| radius));
    let minimum = refine(readings, &middle, known, start);
    let (center, normal, radius) = minimum.state;
    let center = middle + center;
    let normal = facing(normal, options.toward.as_ref());
    // The covariance is given about the normal that is told, so the Jacobian is too.
    let minimum = refine(readings, &middle, known, (center - middle, normal, radius));
    let residuals_mm: Vec<f64> = readings
        .iter()
        .map(|reading| {
            let q = reading.point - center;
            let h = q.dot(&normal);
            let radial = (q - *normal * h).norm() - radius;
            radial.hypot(h).copysign(radial)
        })
        .collect();
    let form_mm = zone_width(&residuals_mm);
    let (covariance, quality) = Judged {
        feature: "circle",
        readings,
        least: 3,
        residuals_mm,
        form_mm,
        minimum: &minimum,
        reading_covariance: options.reading_covariance.as_ref(),
        cure: CURE,
    }
    .judge()?;
    let radius_mm = radius - options.tip.offset_mm();
    if radius_mm <= 0.0 || covariance[(5, 5)].sqrt() > 0.5 * radius_mm {
        return Err(open("they cover so short an arc that its radius stays open"));
    }
    let (u, v) = square_to(&normal);
    Ok(CircleFit {
        center,
        normal,
        square: [u, v],
        radius_mm,
        covariance: covariance.fixed_view::<6, 6>(0, 0).into_owned(),
        sigma_mm: mean_sigma_mm(readings),
        quality,
    })
}

fn refine(
    readings: &[Reading],
    middle: &Point3<f64>,
    known: Option<(f64, f64)>,
    start: State,
) -> Minimum<State> {
    minimise(
        start,
        |(center, normal, radius): &State| {
            let (u, v) = square_to(normal);
            let mut builder = Evaluation::builder(6);
            for (i, reading) in readings.iter().enumerate() {
                let q = reading.point - middle - center;
                let h = q.dot(normal);
                let across = q - **normal * h;
                let e = across.try_normalize(1e-300).unwrap_or(u);
                let (eu, ev) = (e.dot(&u), e.dot(&v));
                builder.reading(
                    i,
                    reading.sigma_mm,
                    across.norm() - radius,
                    e,
                    &[-eu, -ev, 0.0, h * ev, -h * eu, -1.0],
                );
                let (qu, qv) = (q.dot(&u), q.dot(&v));
                builder.reading(i, reading.sigma_mm, h, **normal, &[0.0, 0.0, -1.0, -qv, qu, 0.0]);
            }
            if let Some((known, sigma)) = known {
                builder.known(sigma, radius - known, &[0.0, 0.0, 0.0, 0.0, 0.0, 1.0]);
            }
            builder.done()
        },
        |(center, normal, radius), change| {
            let (u, v) = square_to(normal);
            let shift = u * change[0] + v * change[1] + **normal * change[2];
            (center + shift, tilted(normal, change[3], change[4]), radius + change[5])
        },
    )
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// Source: Gander, Golub and Strebel, BIT 34 (1994) 558-578, six points; scipy `least_squares`.
    #[test]
    fn poor_starts_reach_the_published_circle() {
        let readings: Vec<Reading> = [[1.0, 7.0], [2.0, 6.0], [5.0, 8.0], [7.0, 7.0], [9.0, 5.0], [3.0, 7.0]]
            .iter()
            .map(|p| Reading::new("G", Point3::new(p[0], p[1], 0.0), 1.0))
            .collect();
        for (case, center, radius) in [
            ("the algebraic circle of unit coefficients", [5.3794, 7.2532], 3.0370),
            ("a guess", [4.0, 3.0], 5.0),
        ] {
            let start = (Vector3::new(center[0], center[1], 0.0), Vector3::z_axis(), radius);
            let minimum = refine(&readings, &Point3::origin(), None, start);
            let (center, _, radius) = minimum.state;
            assert!(minimum.converged, "{case}");
            assert!((center - Vector3::new(4.739_782_4, 2.983_532_7, 0.0)).norm() < 1e-6, "{case}: {center}");
            assert!((radius - 4.714_226_0).abs() < 1e-6, "{case}: {radius}");
        }
    }
}
