//! Tori: the bend of a round bar or pipe.

use std::f64::consts::TAU;

use nalgebra::{DMatrix, Point3, SMatrix, Unit, Vector2, Vector3};
use serde::Serialize;

use super::axis_search::{End, choose, size_mm};
use super::placement::lever_to;
use super::plane::OPEN_TURN_RAD;
use super::quality::{Judged, zone_width};
use super::reading::{centroid, check, mean_sigma_mm, spread};
use super::round::{facing, half_sphere, seen_along, square_to, starting_circle, tilted};
use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading};
use crate::survey::levenberg::{Evaluation, Minimum, minimise};

const CURE: &str = "take readings at three places or more along the bend, three or more round it at each";
/// Axes tried at first, and how many of the best starts are followed to their minimum.
const DIRECTIONS: usize = 100;
const FOLLOWED: usize = 24;
/// Where the centre may lie, in sizes of the readings from their middle: a short bend lies well off it.
const OFF: [f64; 4] = [0.5, 1.0, 2.0, 4.0];
/// Ways in the ring's plane in which it may lie.
const WAYS: usize = 10;
/// Two ends whose sums of squares differ by less than this (three sigma) cannot be told apart.
const TELLS_APART: f64 = 9.0;
/// Places along the bend by which its body is judged.
const PLACES: usize = 5;
/// Sides of the pipe, all round.
const SIDES: usize = 24;

/// A torus fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TorusFit {
    /// Middle of the ring.
    pub center: Point3<f64>,
    /// Axis of the ring; toward [`FitOptions::toward`], else with its greatest component positive.
    pub axis: Unit<Vector3<f64>>,
    /// Two directions in the ring's plane; (`square[0]`, `square[1]`, `axis`) is right-handed.
    pub square: [Vector3<f64>; 2],
    /// Radius of the centreline, mm.
    pub ring_radius_mm: f64,
    /// Radius of the bar or pipe, mm.
    pub radius_mm: f64,
    /// The part of the round that the readings span, the largest gap between them left out: from the angle of the
    /// first, counted from `square[0]` toward `square[1]`, and how far, rad.
    pub arc_rad: [f64; 2],
    /// Covariance of (shift along `square[0]`, `square[1]`, `axis`, mm; turn about `square[0]`, `square[1]`, rad; radius of
    /// the centreline, radius of the bar, mm), turns about the centre.
    pub covariance: SMatrix<f64, 7, 7>,
    /// Standard uncertainty of one reading, root mean square, mm.
    pub sigma_mm: f64,
    /// Evidence; a residual is positive outside.
    pub quality: FitQuality,
}

impl TorusFit {
    /// From the centre toward the centreline at an angle from `square[0]`.
    pub fn spoke(&self, angle_rad: f64) -> Vector3<f64> {
        self.square[0] * angle_rad.cos() + self.square[1] * angle_rad.sin()
    }

    /// How well a bend made from it is placed: the rigid movement nearest to that of its centreline over the arc, square to
    /// the pipe. On a short arc centre and radius err together by much, the centreline by little. What is not rigid, and
    /// the pipe's radius, goes into the surface's part, at the worst place and side. No growth is told: the radius errs along
    /// with what is not rigid too, and that differs from place to place.
    pub fn placement(&self) -> FitPlacement {
        let none = Vector3::zeros();
        let ([u, v], n) = (self.square, self.axis.into_inner());
        let spokes: Vec<Vector3<f64>> = (0..PLACES)
            .map(|k| self.spoke(self.arc_rad[0] + self.arc_rad[1] * k as f64 / (PLACES - 1) as f64))
            .collect();
        let middle =
            spokes.iter().map(|spoke| spoke * self.ring_radius_mm).sum::<Vector3<f64>>() / PLACES as f64;
        // Two rows a place: outward from the ring's middle, and along its axis.
        let (mut by_parameter, mut lever) = (DMatrix::zeros(2 * PLACES, 7), DMatrix::zeros(2 * PLACES, 6));
        for (at, spoke) in spokes.iter().enumerate() {
            let place = spoke * self.ring_radius_mm;
            let moves = [(u, none), (v, none), (n, none), (none, u), (none, v), (*spoke, none)];
            let rigid = lever_to(&(place - middle));
            for (row, way) in [(2 * at, *spoke), (2 * at + 1, n)] {
                for (k, (shift, turn)) in moves.iter().enumerate() {
                    by_parameter[(row, k)] = way.dot(&(shift + turn.cross(&place)));
                }
                lever.row_mut(row).copy_from(&(way.transpose() * rigid));
            }
        }
        // To slide along the bend moves nothing square to it: five directions are found, the sixth stays.
        let rigid = match lever.clone().svd(true, true).pseudo_inverse(1e-6) {
            Ok(inverse) => inverse * &by_parameter,
            Err(_) => DMatrix::zeros(6, 7),
        };
        let covariance = DMatrix::from_fn(7, 7, |i, j| self.covariance[(i, j)]);
        let whole = &by_parameter * &covariance * by_parameter.transpose();
        let by_rigid = &lever * &rigid;
        let counted = &by_rigid * &covariance * by_rigid.transpose();
        let with_radius = &by_parameter * covariance.column(6);
        let radius_variance = self.covariance[(6, 6)].max(0.0);
        let mut worst = 0.0f64;
        for at in 0..PLACES {
            for side in 0..SIDES {
                let (sin, cos) = (TAU * side as f64 / SIDES as f64).sin_cos();
                let way = Vector2::new(cos, sin);
                let along = |m: &DMatrix<f64>| way.dot(&(m.fixed_view::<2, 2>(2 * at, 2 * at) * way));
                let shared = 2.0 * way.dot(&with_radius.fixed_rows::<2>(2 * at));
                worst = worst.max(along(&whole) - along(&counted) + shared + radius_variance);
            }
        }
        let moves: Vec<(Vector3<f64>, Vector3<f64>)> = (0..7)
            .map(|k| {
                (rigid.fixed_view::<3, 1>(0, k).into_owned(), rigid.fixed_view::<3, 1>(3, k).into_owned())
            })
            .collect();
        let form_mm = self.quality.form_sigma_mm(self.sigma_mm);
        let slide_rad = self.sigma_mm / self.ring_radius_mm;
        FitPlacement::from_parameters(
            self.center + middle,
            &covariance,
            &moves,
            // Where it ends along the bend is where the outermost reading is.
            &[(n.cross(&middle), n, slide_rad * slide_rad)],
            worst.sqrt().hypot(form_mm),
            &self.quality.response,
        )
    }
}

/// Fits a torus to at least seven readings.
///
/// Orthogonal distances, each over its sigma. Starts: many axes, for each the centre where the readings' own round lies and many
/// where that of a short bend may lie; ring and bar then follow from a circle in the half plane.
///
/// # Errors
/// [`FitError`]: too few readings, more than one torus through them, or so short a bend that its radius or axis stays open.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::survey::{fit_torus, Reading};
/// use nalgebra::Point3;
/// // A pipe of 20 mm radius, bent at 100 mm, touched at five places over a quarter turn, four round it at each.
/// let at = |k: usize| {
///     let (along, round) = (0.39 * (k / 4) as f64, 1.5 * (k % 4) as f64 + 0.3 * (k / 4) as f64);
///     let ring = 100.0 + 20.0 * round.cos();
///     Point3::new(ring * along.cos(), ring * along.sin(), 20.0 * round.sin())
/// };
/// let readings: Vec<Reading> = (0..20).map(|k| Reading::new("P", at(k), 0.1)).collect();
/// let torus = fit_torus(&readings).unwrap();
/// assert!((torus.ring_radius_mm - 100.0).abs() < 1e-6 && (torus.radius_mm - 20.0).abs() < 1e-6);
/// ```
pub fn fit_torus(readings: &[Reading]) -> Result<TorusFit, FitError> {
    fit_torus_with(readings, &FitOptions::default())
}

/// Centre from the centroid, axis, radius of the ring, radius of the bar.
type State = (Vector3<f64>, Unit<Vector3<f64>>, f64, f64);

/// [`fit_torus`] with choices; the known radius is the bar's.
///
/// # Errors
/// As [`fit_torus`].
pub fn fit_torus_with(readings: &[Reading], options: &FitOptions) -> Result<TorusFit, FitError> {
    options.check()?;
    let known = options.known_radius_at_tip();
    let least = 7 - usize::from(known.is_some());
    check(readings, "bend", least)?;
    let middle = centroid(readings);
    let size = size_mm(readings, &middle);
    let ends: Vec<Minimum<State>> = starts(readings, options, &middle, size, known)
        .into_iter()
        .map(|start| refine(readings, &middle, known, start))
        // A bar wider than its ring passes through itself.
        .filter(|end| end.state.3 > 0.0 && end.state.2 > end.state.3)
        .collect();
    let describe = |(_, axis, ring, _): &State| End { direction: *axis, radius_mm: *ring };
    let cost = |end: &Minimum<State>| end.evaluation.chi_square();
    let least_cost = ends.iter().map(cost).fold(f64::INFINITY, f64::min);
    let chosen = choose("bend", options, ends, describe, size)?;
    let (rows, columns) = chosen.evaluation.jacobian.shape();
    let scatter = (least_cost / rows.saturating_sub(columns).max(1) as f64).max(1.0);
    if cost(&chosen) > least_cost + TELLS_APART * scatter {
        // What fits better is still on its way to a ring without end.
        return Err(FitError::Degenerate {
            feature: "bend",
            why: "a bend of far greater radius, or none, fits them better".to_owned(),
            cure: "fit a cylinder, or take readings further along the bend".to_owned(),
        });
    }
    let (center, axis, ring, radius) = chosen.state;
    // The covariance is given about the axis that is told, so the Jacobian is too.
    let told = (center, facing(axis, options.toward.as_ref()), ring, radius);
    let minimum = refine(readings, &middle, known, told);
    let (center, axis, ring_radius_mm, radius) = minimum.state;
    let center = middle + center;
    let (u, v) = square_to(&axis);
    let (mut residuals_mm, mut angles) = (Vec::new(), Vec::new());
    for reading in readings {
        let q = reading.point - center;
        let h = q.dot(&axis);
        residuals_mm.push(((q - *axis * h).norm() - ring_radius_mm).hypot(h) - radius);
        angles.push(q.dot(&v).atan2(q.dot(&u)));
    }
    let form_mm = zone_width(&residuals_mm);
    let (covariance, quality) = Judged {
        feature: "bend",
        readings,
        least,
        residuals_mm,
        form_mm,
        minimum: &minimum,
        reading_covariance: options.reading_covariance.as_ref(),
        cure: CURE,
    }
    .judge()?;
    let open =
        |why: &str| FitError::Degenerate { feature: "bend", why: why.to_owned(), cure: CURE.to_owned() };
    if covariance[(3, 3)].max(covariance[(4, 4)]).sqrt() > OPEN_TURN_RAD {
        return Err(open("they lie so close together along it that its plane stays open"));
    }
    if covariance[(5, 5)].sqrt() > 0.5 * ring_radius_mm {
        return Err(open("they cover so short a bend that its radius stays open"));
    }
    let radius_mm = radius - options.tip.offset_mm();
    if radius_mm <= 0.0 || covariance[(6, 6)].sqrt() > 0.5 * radius_mm {
        return Err(open("they cover so little of its bar's round that the bar's radius stays open"));
    }
    Ok(TorusFit {
        center,
        axis,
        square: [u, v],
        ring_radius_mm,
        radius_mm,
        arc_rad: arc(angles),
        covariance: covariance.fixed_view::<7, 7>(0, 0).into_owned(),
        sigma_mm: mean_sigma_mm(readings),
        quality,
    })
}

/// Starts, the best first.
fn starts(
    readings: &[Reading],
    options: &FitOptions,
    middle: &Point3<f64>,
    size_mm: f64,
    known: Option<(f64, f64)>,
) -> Vec<State> {
    let points: Vec<Point3<f64>> = readings.iter().map(|r| r.point).collect();
    let mut directions: Vec<Unit<Vector3<f64>>> = half_sphere(DIRECTIONS).collect();
    directions.extend(spread(readings, middle).map(|(_, direction)| direction));
    directions.extend(options.toward);
    let ways: Vec<Vector2<f64>> = OFF
        .iter()
        .flat_map(|off| (0..WAYS).map(move |k| (TAU * k as f64 / WAYS as f64, off)))
        .map(|(angle, off)| Vector2::new(angle.cos(), angle.sin()) * (*off * size_mm))
        .collect();
    let mut found: Vec<(f64, State)> = Vec::new();
    for axis in directions {
        let (u, v) = square_to(&axis);
        let (across, along) = seen_along(&points, middle, &axis);
        let round = starting_circle(&across).map(|(center, _)| center);
        for center in round.iter().chain(&ways) {
            let half_plane: Vec<Vector2<f64>> =
                across.iter().zip(&along).map(|(at, h)| Vector2::new((at - center).norm(), *h)).collect();
            let Some((bar, radius)) = starting_circle(&half_plane) else { continue };
            let radius = known.map_or(radius, |(radius, _)| radius);
            if bar.x <= 0.0 {
                continue;
            }
            let off = |(at, reading): (&Vector2<f64>, &Reading)| {
                (((at - bar).norm() - radius) / reading.sigma_mm).powi(2)
            };
            let cost: f64 = half_plane.iter().zip(readings).map(off).sum();
            if cost.is_finite() {
                found.push((cost, (u * center.x + v * center.y + *axis * bar.y, axis, bar.x, radius)));
            }
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.into_iter().take(FOLLOWED).map(|(_, state)| state).collect()
}

fn evaluate(
    readings: &[Reading],
    middle: &Point3<f64>,
    known: Option<(f64, f64)>,
    state: &State,
) -> Evaluation {
    let (center, axis, ring, radius) = state;
    let (u, v) = square_to(axis);
    let mut builder = Evaluation::builder(7);
    for (i, reading) in readings.iter().enumerate() {
        let q = reading.point - middle - center;
        let h = q.dot(axis);
        let across = q - **axis * h;
        let e = across.try_normalize(1e-300).unwrap_or(u);
        let beyond = across.norm() - ring;
        let from_bar = beyond.hypot(h).max(1e-12);
        // Shares of the distance from the bar's middle: away from the axis and along it.
        let (out, up) = (beyond / from_bar, h / from_bar);
        let away = e * out + **axis * up;
        let (eu, ev, qu, qv) = (e.dot(&u), e.dot(&v), q.dot(&u), q.dot(&v));
        builder.reading(
            i,
            reading.sigma_mm,
            from_bar - radius,
            away,
            &[-away.dot(&u), -away.dot(&v), -up, out * h * ev - up * qv, up * qu - out * h * eu, -out, -1.0],
        );
    }
    if let Some((known, sigma)) = known {
        builder.known(sigma, radius - known, &[0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0]);
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
        |(center, axis, ring, radius), change| {
            let (u, v) = square_to(axis);
            let shift = u * change[0] + v * change[1] + **axis * change[2];
            (center + shift, tilted(axis, change[3], change[4]), ring + change[5], radius + change[6])
        },
    )
}

/// The part of the round that holds all angles, the largest gap left out: where it begins and how far it goes.
fn arc(mut angles: Vec<f64>) -> [f64; 2] {
    angles.sort_by(f64::total_cmp);
    let count = angles.len();
    let gap = |k: usize| if k + 1 < count { angles[k + 1] - angles[k] } else { angles[0] + TAU - angles[k] };
    let widest = (0..count).max_by(|a, b| gap(*a).total_cmp(&gap(*b))).unwrap_or(0);
    [angles[(widest + 1) % count], TAU - gap(widest)]
}
