//! Tori: a pipe's bend, a ring, an O-ring groove.

use nalgebra::{DMatrix, Point3, SMatrix, Unit, Vector3};
use serde::Serialize;

use super::axis_search::{End, choose, promising, size_mm};
use super::plane::OPEN_TURN_RAD;
use super::quality::{Judged, zone_width};
use super::reading::{centroid, check, mean_sigma_mm};
use super::round::{facing, radius_surface_mm, seen_along, square_to, starting_circle, tilted};
use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading};
use crate::survey::levenberg::{Evaluation, Minimum, minimise};

const CURE: &str =
    "take readings at three places or more along the bend, three or more round the pipe at each";

/// How much further off than the circle through all readings the ring's middle is tried.
const STRETCHED: [f64; 6] = [1.0, 1.4, 2.0, 2.8, 4.0, 6.0];

/// A torus fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TorusFit {
    /// Middle of the ring.
    pub center: Point3<f64>,
    /// Direction of the ring's axis; toward [`FitOptions::toward`], else its greatest part above zero.
    pub direction: Unit<Vector3<f64>>,
    /// Two directions square to the axis; (`square[0]`, `square[1]`, `direction`) is right-handed.
    pub square: [Vector3<f64>; 2],
    /// Radius of the ring's middle line, mm: a bend's radius.
    pub ring_radius_mm: f64,
    /// Radius of the pipe, mm.
    pub pipe_radius_mm: f64,
    /// Covariance of (shift along `square[0]`, `square[1]`, `direction`, mm; turn about `square[0]`, `square[1]`,
    /// rad; ring radius, pipe radius, mm), turns about `center`.
    pub covariance: SMatrix<f64, 7, 7>,
    /// Standard uncertainty of one reading, root mean square, mm.
    pub sigma_mm: f64,
    /// Evidence; a residual is positive outside the pipe.
    pub quality: FitQuality,
}

impl TorusFit {
    /// How well a bend made from it is placed; about the axis it is free, and that is left out. Both radii's parts are
    /// taken with the worse sign.
    pub fn placement(&self) -> FitPlacement {
        let none = Vector3::zeros();
        let [u, v] = self.square;
        let c = &self.covariance;
        let covariance = DMatrix::from_fn(5, 5, |i, j| c[(i, j)]);
        let radii = c[(5, 5)] + c[(6, 6)] + 2.0 * c[(5, 6)].abs();
        let shared = (0..3).map(|k| c[(k, 5)].hypot(c[(k, 6)])).fold(0.0, f64::max);
        FitPlacement::from_parameters(
            self.center,
            &covariance,
            &[(u, none), (v, none), (self.direction.into_inner(), none), (none, u), (none, v)],
            &[],
            radius_surface_mm(radii, shared, self.quality.form_sigma_mm(self.sigma_mm)),
            &self.quality.response,
        )
    }
}

/// Fits a torus to at least seven readings.
///
/// Orthogonal distances, each over its sigma; many axis directions are tried. Rough readings of a short bend lie
/// near many tori: then it is an error, not a guess, and [`FitOptions::toward`] (the axis to some 20 deg) settles it.
///
/// # Errors
/// [`FitError`]: too few readings, more than one torus through them, or a part of it left open.
///
/// # Example
/// Three rings of four on a bend of 60 mm, pipe 20 mm:
/// ```
/// use baywright::survey::{Reading, fit_torus};
/// use nalgebra::Point3;
/// let readings: Vec<Reading> = (0..12).map(|k| {
///     let (along, round) = (0.7 * f64::from(k / 4), 0.4 + 1.571 * f64::from(k % 4));
///     let out = 60.0 + 10.0 * round.cos();
///     Reading::new(format!("T{k}"), Point3::new(out * along.cos(), out * along.sin(), 10.0 * round.sin()), 0.1)
/// }).collect();
/// let bend = fit_torus(&readings).unwrap();
/// assert!((bend.ring_radius_mm - 60.0).abs() < 1e-6 && (bend.pipe_radius_mm - 10.0).abs() < 1e-6);
/// ```
pub fn fit_torus(readings: &[Reading]) -> Result<TorusFit, FitError> {
    fit_torus_with(readings, &FitOptions::default())
}

/// Middle from the centroid, direction, ring radius, pipe radius.
type State = (Vector3<f64>, Unit<Vector3<f64>>, f64, f64);

/// [`fit_torus`] with choices; a known radius is the pipe's.
///
/// # Errors
/// As [`fit_torus`].
pub fn fit_torus_with(readings: &[Reading], options: &FitOptions) -> Result<TorusFit, FitError> {
    check(readings, "torus", 7)?;
    options.check()?;
    let middle = centroid(readings);
    let points: Vec<Point3<f64>> = readings.iter().map(|r| r.point).collect();
    let size = size_mm(readings, &middle);
    let known = options.known_radius_at_tip();
    let starts = promising(readings, options, |direction| {
        let (across, along) = seen_along(&points, &middle, direction);
        let (circle, _) = starting_circle(&across)?;
        let height = along.iter().sum::<f64>() / along.len() as f64;
        let (u, v) = square_to(direction);
        // The circle through touches all round a thick pipe is too small: centres further off are tried as well.
        STRETCHED
            .iter()
            .map(|stretched| {
                let center = circle * *stretched;
                let out: Vec<f64> = across.iter().map(|p| (p - center).norm()).collect();
                let ring = out.iter().sum::<f64>() / out.len() as f64;
                let off: Vec<f64> =
                    out.iter().zip(&along).map(|(out, h)| (out - ring).hypot(h - height)).collect();
                let pipe = known.map_or(off.iter().sum::<f64>() / off.len() as f64, |(radius, _)| radius);
                let cost: f64 =
                    off.iter().zip(readings).map(|(s, r)| ((s - pipe) / r.sigma_mm).powi(2)).sum();
                let center = u * center.x + v * center.y + direction.into_inner() * height;
                ((center, *direction, ring, pipe), cost)
            })
            .min_by(|a, b| a.1.total_cmp(&b.1))
    });
    let ends = starts.into_iter().map(|start| refine(readings, &middle, known, start)).collect();
    let describe = |(_, direction, ring, pipe): &State| {
        // A pipe wider than its bend is no bend: such an end is passed over.
        End { direction: *direction, radius_mm: if *pipe > 0.0 && ring > pipe { *ring } else { -1.0 } }
    };
    let chosen = choose("torus", options, ends, describe, size)?;
    let (center, direction, ring, pipe) = chosen.state;
    let direction = facing(direction, options.toward.as_ref());
    let state = (center, direction, ring, pipe);
    let minimum = Minimum { evaluation: evaluate(readings, &middle, known, &state), ..chosen };
    let center = middle + center;
    let residuals_mm: Vec<f64> = readings
        .iter()
        .map(|reading| {
            let q = reading.point - center;
            let h = q.dot(&direction);
            ((q - *direction * h).norm() - ring).hypot(h) - pipe
        })
        .collect();
    let form_mm = zone_width(&residuals_mm);
    let (covariance, quality) = Judged {
        feature: "torus",
        readings,
        least: 7 - usize::from(known.is_some()),
        residuals_mm,
        form_mm,
        minimum: &minimum,
        reading_covariance: options.reading_covariance.as_ref(),
        cure: CURE,
    }
    .judge()?;
    let open =
        |why: &str| FitError::Degenerate { feature: "torus", why: why.to_owned(), cure: CURE.to_owned() };
    let pipe_radius_mm = pipe - options.tip.offset_mm();
    if pipe_radius_mm <= 0.0 || covariance[(6, 6)].sqrt() > 0.5 * pipe_radius_mm {
        return Err(open("they cover so little of its round that the pipe's radius stays open"));
    }
    if covariance[(5, 5)].sqrt() > 0.5 * ring {
        return Err(open("they cover so little of the bend that its radius stays open"));
    }
    if covariance[(3, 3)].max(covariance[(4, 4)]).sqrt() > OPEN_TURN_RAD {
        return Err(open("they leave the plane of the bend open"));
    }
    let (u, v) = square_to(&direction);
    Ok(TorusFit {
        center,
        direction,
        square: [u, v],
        ring_radius_mm: ring,
        pipe_radius_mm,
        covariance: covariance.fixed_view::<7, 7>(0, 0).into_owned(),
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
    let (center, direction, ring, pipe) = state;
    let (u, v) = square_to(direction);
    let w = direction.into_inner();
    let mut builder = Evaluation::builder(7);
    for (i, reading) in readings.iter().enumerate() {
        let q = reading.point - middle - center;
        let h = q.dot(&w);
        let across = q - w * h;
        let e = across.try_normalize(1e-300).unwrap_or(u);
        let out = across.norm() - ring;
        let s = out.hypot(h).max(1e-12);
        let g = (e * out + w * h) / s;
        let lever = h * ring / s;
        builder.reading(
            i,
            reading.sigma_mm,
            s - pipe,
            g,
            &[-g.dot(&u), -g.dot(&v), -g.dot(&w), -lever * e.dot(&v), lever * e.dot(&u), -out / s, -1.0],
        );
    }
    if let Some((known, sigma)) = known {
        builder.known(sigma, pipe - known, &[0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0]);
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
        |(center, direction, ring, pipe), change| {
            let (u, v) = square_to(direction);
            let center = center + u * change[0] + v * change[1] + direction.into_inner() * change[2];
            (center, tilted(direction, change[3], change[4]), ring + change[5], pipe + change[6])
        },
    )
}
