//! Bent tubes: straight legs of one diameter that meet in corners, touched on the legs.
//!
//! All legs are fitted at once: neighbours share the corner where their axes meet, all share the radius. The bends
//! themselves are not touched; their radius is known from the bender.

use nalgebra::{DMatrix, DVector, Point3, Unit, Vector3};
use serde::Serialize;

use super::axis_search::{promising, size_mm};
use super::placement::lever_to;
use super::quality::{Judged, zone_width};
use super::reading::{centroid, check, mean_sigma_mm};
use super::round::{seen_along, square_to, starting_circle};
use super::{FitError, FitOptions, FitPlacement, FitQuality, Reading};
use crate::survey::levenberg::{Evaluation, Minimum, minimise};

const CURE: &str = "touch every leg at two places or more along it, three or more round it at each";
/// Starts of one leg that are combined with those of the others.
const STARTS: usize = 4;
/// Combinations of starts that are looked at.
const COMBINED: usize = 64;
/// Of these, how many are followed to their minimum.
const FOLLOWED: usize = 10;
/// A corner that turns by less leaves open where it is along the tube: 3 deg.
const LEAST_TURN_RAD: f64 = 0.052;
/// Two ends whose sums of squares differ by less than this (three sigma) cannot be told apart.
const TELLS_APART: f64 = 9.0;

/// A bent tube fitted to touches of its straight legs.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BentTubeFit {
    /// Ends and corners in order: the corners where the legs' axes meet, the ends as far as the outermost touch.
    pub corners: Vec<Point3<f64>>,
    /// Radius of the surface, mm.
    pub radius_mm: f64,
    /// Covariance of (shift of the first end along the two directions square to its leg; shift of each inner corner
    /// along x, y, z; shift of the last end along the two directions square to its leg; radius), mm^2.
    pub covariance: DMatrix<f64>,
    /// Standard uncertainty of one reading, root mean square, mm.
    pub sigma_mm: f64,
    /// Evidence; a residual is positive outside.
    pub quality: FitQuality,
}

impl BentTubeFit {
    /// Directions square to the first or last leg, along which that end's covariance is told.
    pub fn square_at_end(&self, last: bool) -> [Vector3<f64>; 2] {
        let (u, v) = square_to(&direction(&self.corners, if last { self.corners.len() - 2 } else { 0 }));
        [u, v]
    }

    /// How well a tube made from it is placed: the rigid movement nearest to that of its corners and ends; what of their
    /// movement is not rigid (the tube's form) goes into the surface's part, at the worst corner and side.
    pub fn placement(&self) -> FitPlacement {
        let (n, parameters) = (self.corners.len(), self.covariance.nrows());
        let sum = self.corners.iter().fold(Vector3::zeros(), |sum, corner| sum + corner.coords);
        let about = Point3::from(sum / n as f64);
        let by_parameter = movements(&self.corners, parameters);
        let mut lever = DMatrix::zeros(3 * n, 6);
        for (k, corner) in self.corners.iter().enumerate() {
            lever.view_mut((3 * k, 0), (3, 6)).copy_from(&lever_to(&(corner - about)));
        }
        // Corners that turn are never on one line, so all six movements show.
        let rigid = match lever.tr_mul(&lever).try_inverse() {
            Some(inverse) => inverse * lever.transpose() * &by_parameter,
            None => DMatrix::zeros(6, parameters),
        };
        let rest = &by_parameter - &lever * &rigid;
        let strays = &rest * &self.covariance * rest.transpose();
        let worst = (0..n)
            .map(|k| strays.view((3 * k, 3 * k), (3, 3)).into_owned().symmetric_eigenvalues().max().max(0.0))
            .fold(0.0, f64::max);
        let radius = self.covariance[(parameters - 1, parameters - 1)].max(0.0);
        let moves: Vec<(Vector3<f64>, Vector3<f64>)> = (0..parameters)
            .map(|k| {
                (rigid.fixed_view::<3, 1>(0, k).into_owned(), rigid.fixed_view::<3, 1>(3, k).into_owned())
            })
            .collect();
        let form_mm = self.quality.form_sigma_mm(self.sigma_mm);
        // Radius, form and place may err together: their standard uncertainties add up at the worst side.
        let surface = worst.sqrt() + radius.sqrt();
        FitPlacement::from_parameters(
            about,
            &self.covariance,
            &moves,
            &[],
            surface.hypot(form_mm),
            &self.quality.response,
        )
    }
}

/// Fits a tube to touches of its legs, told in order along the tube: each leg with four readings or more.
///
/// # Errors
/// [`FitError`]: fewer than two legs, too few readings on one, legs in one line, more than one tube through them.
pub fn fit_bent_tube(legs: &[Vec<Reading>]) -> Result<BentTubeFit, FitError> {
    fit_bent_tube_with(legs, &FitOptions::default())
}

/// Ends and corners, radius.
type State = (Vec<Point3<f64>>, f64);

/// [`fit_bent_tube`] with choices; readings count leg after leg.
///
/// # Errors
/// As [`fit_bent_tube`].
pub fn fit_bent_tube_with(legs: &[Vec<Reading>], options: &FitOptions) -> Result<BentTubeFit, FitError> {
    options.check()?;
    if legs.len() < 2 {
        return Err(FitError::BadOption {
            what: format!("a bent tube of {} straight leg", legs.len()),
            cure: "give two legs or more, or fit a cylinder".to_owned(),
        });
    }
    for leg in legs {
        check(leg, "leg of a bent tube", 4)?;
    }
    let readings: Vec<Reading> = legs.concat();
    let leg_of: Vec<usize> =
        legs.iter().enumerate().flat_map(|(at, leg)| std::iter::repeat_n(at, leg.len())).collect();
    let known = options.known_radius_at_tip();
    let parameters = 3 * (legs.len() - 1) + 5;
    let mut ends: Vec<Minimum<State>> = Vec::new();
    let mut iterations = 0;
    let mut starts: Vec<(f64, State)> = starts(legs, known)
        .into_iter()
        .map(|start| (evaluate(&readings, &leg_of, known, &start).chi_square(), start))
        .filter(|(cost, _)| cost.is_finite())
        .collect();
    starts.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (_, start) in starts.into_iter().take(FOLLOWED) {
        let end = minimise(
            start,
            |state| evaluate(&readings, &leg_of, known, state),
            |(corners, radius), change| (moved(corners, change), radius + change[parameters - 1]),
        );
        iterations = iterations.max(end.iterations);
        if end.converged && end.state.1 > 0.0 && in_order(&end.state.0, legs) {
            ends.push(end);
        }
    }
    let cost = |end: &Minimum<State>| end.evaluation.chi_square();
    ends.sort_by(|a, b| cost(a).total_cmp(&cost(b)));
    let open = |why: String| FitError::Degenerate { feature: "bent tube", why, cure: CURE.to_owned() };
    let Some(best) = ends.first() else {
        return Err(FitError::NotConverged { feature: "bent tube", iterations });
    };
    for (at, pair) in best.state.0.windows(3).enumerate() {
        let turn = (pair[1] - pair[0]).angle(&(pair[2] - pair[1]));
        if turn < LEAST_TURN_RAD {
            return Err(FitError::Degenerate {
                feature: "bent tube",
                why: format!("its legs {} and {} are nearly in one line", at + 1, at + 2),
                cure: "tell the two as one leg".to_owned(),
            });
        }
    }
    let free = best.evaluation.residuals.len().saturating_sub(parameters);
    let scatter = if free > 0 { (cost(best) / free as f64).max(1.0) } else { 1.0 };
    let size = size_mm(&readings, &centroid(&readings));
    let apart = |other: &Minimum<State>| {
        let pairs = best.state.0.iter().zip(&other.state.0);
        // Ends slide along their legs; corners do not.
        let inner = pairs.skip(1).take(legs.len() - 1);
        inner.map(|(a, b)| (a - b).norm()).fold((best.state.1 - other.state.1).abs(), f64::max)
    };
    if let Some(rival) = ends.iter().skip(1).find(|end| apart(end) > 1e-4 * size)
        && cost(rival) < cost(best) + TELLS_APART * scatter
    {
        return Err(open(format!(
            "more than one fits as well: radius {:.1} mm and {:.1} mm, corners {:.1} mm apart",
            best.state.1,
            rival.state.1,
            apart(rival)
        )));
    }
    let (mut corners, radius) = best.state.clone();
    slide_ends(&mut corners, legs);
    let state = (corners, radius);
    let minimum = Minimum {
        evaluation: evaluate(&readings, &leg_of, known, &state),
        state: (),
        iterations,
        converged: true,
    };
    let (corners, radius) = state;
    let residuals_mm: Vec<f64> = readings
        .iter()
        .zip(&leg_of)
        .map(|(reading, leg)| {
            let (d, q) = (direction(&corners, *leg), reading.point - corners[*leg]);
            (q - *d * q.dot(&d)).norm() - radius
        })
        .collect();
    let (covariance, quality) = Judged {
        feature: "bent tube",
        readings: &readings,
        least: parameters - usize::from(known.is_some()),
        form_mm: zone_width(&residuals_mm),
        residuals_mm,
        minimum: &minimum,
        reading_covariance: options.reading_covariance.as_ref(),
        cure: CURE,
    }
    .judge()?;
    let radius_mm = radius - options.tip.offset_mm();
    if radius_mm <= 0.0 || covariance[(parameters - 1, parameters - 1)].sqrt() > 0.5 * radius_mm {
        return Err(open("they cover so little of its round that its radius stays open".to_owned()));
    }
    let sigma_mm = mean_sigma_mm(&readings);
    Ok(BentTubeFit { corners, radius_mm, covariance, sigma_mm, quality })
}

/// Direction of a leg.
fn direction(corners: &[Point3<f64>], leg: usize) -> Unit<Vector3<f64>> {
    Unit::try_new(corners[leg + 1] - corners[leg], 1e-9).unwrap_or_else(Vector3::x_axis)
}

/// How each corner and end moves with each local parameter: three rows a corner.
fn movements(corners: &[Point3<f64>], parameters: usize) -> DMatrix<f64> {
    let n = corners.len();
    let mut by = DMatrix::zeros(3 * n, parameters);
    let mut column = 0;
    for k in 0..n {
        if k == 0 || k == n - 1 {
            let (u, v) = square_to(&direction(corners, if k == 0 { 0 } else { n - 2 }));
            for along in [u, v] {
                by.view_mut((3 * k, column), (3, 1)).copy_from(&along);
                column += 1;
            }
        } else {
            for axis in 0..3 {
                by[(3 * k + axis, column)] = 1.0;
                column += 1;
            }
        }
    }
    by
}

fn moved(corners: &[Point3<f64>], change: &DVector<f64>) -> Vec<Point3<f64>> {
    let shift = movements(corners, change.len()) * change;
    corners.iter().enumerate().map(|(k, corner)| corner + shift.fixed_rows::<3>(3 * k)).collect()
}

fn evaluate(readings: &[Reading], leg_of: &[usize], known: Option<(f64, f64)>, state: &State) -> Evaluation {
    let (corners, radius) = state;
    let parameters = 3 * (corners.len() - 2) + 5;
    let by = movements(corners, parameters);
    let mut builder = Evaluation::builder(parameters);
    for (i, (reading, leg)) in readings.iter().zip(leg_of).enumerate() {
        let (from, to) = (corners[*leg], corners[leg + 1]);
        let (d, q) = (direction(corners, *leg), reading.point - from);
        let h = q.dot(&d);
        let across = q - *d * h;
        let e = across.try_normalize(1e-300).unwrap_or_else(|| square_to(&d).0);
        // The axis beside the reading moves with both its ends, by the nearer one more.
        let share = h / (to - from).norm().max(1e-9);
        let mut row: Vec<f64> = (0..parameters)
            .map(|k| {
                let first = by.fixed_view::<3, 1>(3 * leg, k);
                let second = by.fixed_view::<3, 1>(3 * (leg + 1), k);
                -(first.dot(&e) * (1.0 - share) + second.dot(&e) * share)
            })
            .collect();
        row[parameters - 1] = -1.0;
        builder.reading(i, reading.sigma_mm, across.norm() - radius, e, &row);
    }
    if let Some((known, sigma)) = known {
        let mut row = vec![0.0; parameters];
        row[parameters - 1] = 1.0;
        builder.known(sigma, radius - known, &row);
    }
    builder.done()
}

/// Ends to the outermost touches of their legs.
fn slide_ends(corners: &mut [Point3<f64>], legs: &[Vec<Reading>]) {
    let n = corners.len();
    for (end, inner, leg) in [(0, 1, 0), (n - 1, n - 2, legs.len() - 1)] {
        let Some(out) = Unit::try_new(corners[end] - corners[inner], 1e-9) else { continue };
        let reach = legs[leg].iter().map(|r| (r.point - corners[inner]).dot(&out)).fold(0.0, f64::max);
        corners[end] = corners[inner] + *out * reach;
    }
}

/// Whether every leg's touches lie between its corners, in their mean, so that the tube runs as told.
fn in_order(corners: &[Point3<f64>], legs: &[Vec<Reading>]) -> bool {
    legs.iter().enumerate().all(|(leg, readings)| {
        let (d, middle) = (direction(corners, leg), centroid(readings));
        let from = (middle - corners[leg]).dot(&d);
        let to = (corners[leg + 1] - middle).dot(&d);
        // An end slides freely; only a leg's inner side counts.
        (leg == 0 || from > 0.0) && (leg + 1 == legs.len() || to > 0.0)
    })
}

/// An axis to start a leg from, and how ill it fits.
type Axis = (Point3<f64>, Unit<Vector3<f64>>, f64);

/// Tubes to start from, those first whose legs fit by themselves and agree in radius.
fn starts(legs: &[Vec<Reading>], known: Option<(f64, f64)>) -> Vec<State> {
    let each: Vec<Vec<(f64, Axis)>> = legs.iter().map(|leg| axes(leg, known)).collect();
    let mut combined: Vec<(f64, Vec<Axis>)> = vec![(0.0, Vec::new())];
    for leg in &each {
        let mut next = Vec::new();
        for (cost, chosen) in &combined {
            for (own, axis) in leg {
                let unlike = chosen.first().map_or(0.0, |first| (first.2 - axis.2).abs() / axis.2.max(1e-9));
                let mut chosen = chosen.clone();
                chosen.push(*axis);
                next.push((cost + own + 100.0 * unlike, chosen));
            }
        }
        next.sort_by(|a, b| a.0.total_cmp(&b.0));
        next.truncate(COMBINED);
        combined = next;
    }
    combined.into_iter().map(|(_, chosen)| joined(&chosen, legs)).collect()
}

/// Corners midway between neighbouring axes, radius of the mean.
fn joined(chosen: &[Axis], legs: &[Vec<Reading>]) -> State {
    let mut corners = vec![chosen[0].0];
    for pair in chosen.windows(2) {
        let ((p, d, _), (q, e, _)) = (&pair[0], &pair[1]);
        let (between, cos) = (q - p, d.dot(e));
        let sin_squared = (1.0 - cos * cos).max(1e-6);
        let along = (between.dot(d) - between.dot(e) * cos) / sin_squared;
        let back = (between.dot(d) * cos - between.dot(e)) / sin_squared;
        corners.push(nalgebra::center(&(p + **d * along), &(q + **e * back)));
    }
    corners.push(chosen[chosen.len() - 1].0);
    // An end stands at the touches' middle so far; two of one place would leave a leg without direction.
    slide_ends(&mut corners, legs);
    let radius = chosen.iter().map(|axis| axis.2).sum::<f64>() / chosen.len() as f64;
    (corners, radius)
}

fn axes(leg: &[Reading], known: Option<(f64, f64)>) -> Vec<(f64, Axis)> {
    let middle = centroid(leg);
    let points: Vec<Point3<f64>> = leg.iter().map(|r| r.point).collect();
    let found = promising(leg, &FitOptions::default(), |direction| {
        let (across, _) = seen_along(&points, &middle, direction);
        let (center, radius) = starting_circle(&across)?;
        let (u, v) = square_to(direction);
        let radius = known.map_or(radius, |(radius, _)| radius);
        let cost: f64 = across
            .iter()
            .zip(leg)
            .map(|(p, reading)| (((p - center).norm() - radius) / reading.sigma_mm).powi(2))
            .sum();
        Some(((cost, (middle + u * center.x + v * center.y, *direction, radius)), cost))
    });
    found.into_iter().take(STARTS).collect()
}
