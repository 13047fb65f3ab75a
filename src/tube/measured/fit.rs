//! A tube fitted to points along its centreline.

use nalgebra::{Point3, Unit, Vector3};

use super::model::Model;
use super::refine::{Refined, refine};
use super::segment::{Segment, SegmentKind, alternatives, segments};
use crate::tube::{CornerLine, TubeError};

/// What is known beforehand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeasuredOptions {
    /// Standard uncertainty of each coordinate of a point, mm: what misfit is chance.
    pub sigma_mm: f64,
    /// Radius of a bend on which no point was taken (a known die), mm.
    pub unmeasured_radius_mm: Option<f64>,
}

impl Default for MeasuredOptions {
    /// Half a millimetre, as by tape and square; no radius known.
    fn default() -> Self {
        MeasuredOptions { sigma_mm: 0.5, unmeasured_radius_mm: None }
    }
}

/// A tube fitted to points, with the evidence.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasuredTube {
    /// The tube: its ends are level with the first and last points.
    pub line: CornerLine,
    /// Distance of each point from the centreline, mm.
    pub residuals_mm: Vec<f64>,
    /// Root mean square of the misfit of one coordinate, spare readings counted, mm; `None` when none is spare.
    pub rms_mm: Option<f64>,
    /// Standard uncertainty of each bend's radius, mm, from the given sigma; `None` where the radius was given.
    pub radius_sigma_mm: Vec<Option<f64>>,
    /// Steps taken.
    pub iterations: usize,
    /// Whether the last step was negligible.
    pub converged: bool,
}

/// The most points that are taken: the search over splits is cubic.
const MOST_POINTS: usize = 400;
/// Straights closer to one line than this many sigmas over their length are one.
const SAME_LINE_SIGMAS: f64 = 4.0;

/// Fits straights and bends, tangent to each other, to points in order along a pipe's centreline.
///
/// Which points lie on straights and which on bends is found by dynamic programming; then ends, corners and
/// radii of all bends are fitted at once to least squared distances. Three points or more on each bend
/// make its radius known; two or more on each straight are needed.
///
/// # Errors
/// [`TubeError::Measured`] names the points: too few, not finite, a corner without a point on its bend and no
/// radius given; and the faults of corners that make no tube.
pub fn fit_measured(points: &[Point3<f64>], options: &MeasuredOptions) -> Result<MeasuredTube, TubeError> {
    check(points, options)?;
    let split = joined(points, segments(points, options.sigma_mm), options.sigma_mm);
    let (refined, known) = likeliest(points, &split, options)?;
    let mut model = refined.model;
    let residuals_mm: Vec<f64> = model.offsets(points).iter().map(Vector3::norm).collect();
    level_ends(&mut model, points);
    let corners = model.points.len();
    let radius_sigma_mm = known
        .iter()
        .enumerate()
        .map(|(bend, known)| {
            (!known).then(|| refined.variances[3 * corners + bend].sqrt() * options.sigma_mm)
        })
        .collect();
    // Each point tells two offsets; an end's place along its straight is told by no offset.
    let told = 2 * points.len();
    let unknown = 3 * corners - 2 + known.iter().filter(|known| !**known).count();
    let squares: f64 = residuals_mm.iter().map(|mm| mm * mm).sum();
    let rms_mm = (told > unknown).then(|| (squares / (told - unknown) as f64).sqrt());
    let line = CornerLine { points: model.points, radii_mm: model.radii_mm };
    line.bend_list()?;
    Ok(MeasuredTube {
        line,
        residuals_mm,
        rms_mm,
        radius_sigma_mm,
        iterations: refined.iterations,
        converged: refined.converged,
    })
}

/// The reading of doubtful straights with the least misfit and fewest parameters (Schwarz's criterion), every
/// one fitted as a whole tube; also which radii were given.
fn likeliest(
    points: &[Point3<f64>],
    split: &[Segment],
    options: &MeasuredOptions,
) -> Result<(Refined, Vec<bool>), TubeError> {
    let mut best: Option<(f64, Refined, Vec<bool>)> = None;
    let mut first_fault = None;
    for split in alternatives(points, split) {
        let (start, known) = match start(points, &split, options) {
            Ok(started) => started,
            Err(fault) => {
                first_fault.get_or_insert(fault);
                continue;
            }
        };
        let refined = refine(start, points, &known);
        let misfit: f64 = refined.model.offsets(points).iter().map(Vector3::norm_squared).sum();
        let cost = misfit / options.sigma_mm.powi(2)
            + refined.model.size() as f64 * (2.0 * points.len() as f64).ln();
        if best.as_ref().is_none_or(|(least, ..)| cost < *least) {
            best = Some((cost, refined, known));
        }
    }
    match (best, first_fault) {
        (Some((_, refined, known)), _) => Ok((refined, known)),
        (None, Some(fault)) => Err(fault),
        (None, None) => Err(TubeError::Measured {
            what: "no two points make a straight".to_owned(),
            remedy: "measure two or more points on each straight",
        }),
    }
}

fn check(points: &[Point3<f64>], options: &MeasuredOptions) -> Result<(), TubeError> {
    let wrong = |what: String, remedy| Err(TubeError::Measured { what, remedy });
    if points.len() < 2 {
        return wrong(format!("{} point measured", points.len()), "measure at least two points");
    }
    if points.len() > MOST_POINTS {
        let what = format!("{} points measured, and {MOST_POINTS} is the most", points.len());
        return wrong(what, "leave out every other one");
    }
    if let Some(bad) = points.iter().position(|p| !p.iter().all(|x| x.is_finite())) {
        return wrong(format!("point {} is not finite", bad + 1), "measure it again");
    }
    if !(options.sigma_mm > 0.0 && options.sigma_mm.is_finite()) {
        return wrong(
            format!("the points' sigma is {} mm", options.sigma_mm),
            "give how well one point is known, over zero",
        );
    }
    let same = points.windows(2).position(|pair| (pair[1] - pair[0]).norm() < 1e-9);
    if let Some(first) = same {
        let what = format!("points {} and {} are the same", first + 1, first + 2);
        return wrong(what, "leave one out");
    }
    Ok(())
}

/// Straights that lie on one line, with nothing between them, are one.
fn joined(points: &[Point3<f64>], split: Vec<Segment>, sigma_mm: f64) -> Vec<Segment> {
    let mut out: Vec<Segment> = Vec::new();
    for segment in split {
        if let Some(last) = out.last_mut()
            && let (SegmentKind::Line { through, along }, SegmentKind::Line { .. }) =
                (last.kind, segment.kind)
        {
            let off = points[segment.first..=segment.last]
                .iter()
                .map(|p| (p - through).cross(&along).norm())
                .fold(0.0, f64::max);
            if off <= SAME_LINE_SIGMAS * sigma_mm {
                last.last = segment.last;
                continue;
            }
        }
        out.push(segment);
    }
    out
}

/// A straight's line, and the radius of the bend that leads to it (of the first, none).
struct Straight {
    through: Point3<f64>,
    along: Unit<Vector3<f64>>,
    bend_before: Option<f64>,
    /// Numbers (from 1) of the points on either side of the corner before it.
    corner: (usize, usize),
}

/// Corners and radii from the split; also which radii were given.
fn start(
    points: &[Point3<f64>],
    split: &[Segment],
    options: &MeasuredOptions,
) -> Result<(Model, Vec<bool>), TubeError> {
    let straights = straights(points, split);
    let (Some(first), Some(last)) = (straights.first(), straights.last()) else {
        return Err(TubeError::Measured {
            what: "no two points make a straight".to_owned(),
            remedy: "measure two or more points on each straight",
        });
    };
    let foot = |line: &Straight, point: &Point3<f64>| {
        line.through + line.along.into_inner() * (point - line.through).dot(&line.along)
    };
    let mut corners = vec![foot(first, &points[0])];
    let (mut radii_mm, mut known) = (Vec::new(), Vec::new());
    for pair in straights.windows(2) {
        let (before, after) = (&pair[0], &pair[1]);
        corners.push(crossing(before, after).ok_or_else(|| TubeError::Measured {
            what: format!(
                "the straights on either side of points {} and {} are parallel, so they have no corner",
                after.corner.0, after.corner.1
            ),
            remedy: "measure three or more points on the bend between them",
        })?);
        match (after.bend_before, options.unmeasured_radius_mm) {
            (Some(radius), _) => {
                radii_mm.push(radius);
                known.push(false);
            }
            (None, Some(radius)) => {
                radii_mm.push(radius);
                known.push(true);
            }
            (None, None) => {
                return Err(TubeError::Measured {
                    what: format!(
                        "the pipe turns between points {} and {}, and too few points lie on that bend to tell \
                         its radius",
                        after.corner.0, after.corner.1
                    ),
                    remedy: "measure three or more points on the bend, or give its radius",
                });
            }
        }
    }
    corners.push(foot(last, &points[points.len() - 1]));
    Ok((Model { points: corners, radii_mm }, known))
}

/// The straights in order. Bends that follow each other, begin or end the tube get a short straight along
/// the tangent where they meet.
fn straights(points: &[Point3<f64>], split: &[Segment]) -> Vec<Straight> {
    let mut out: Vec<Straight> = Vec::new();
    let mut bend: Option<f64> = None;
    let mut arc_ended = false;
    for (index, segment) in split.iter().enumerate() {
        let corner = (segment.first.max(1), segment.first + 1);
        match segment.kind {
            SegmentKind::Line { through, along } => {
                out.push(Straight { through, along, bend_before: bend.take(), corner });
                arc_ended = false;
            }
            SegmentKind::Arc { radius_mm, .. } => {
                if arc_ended || out.is_empty() {
                    out.push(tangent(points, segment.first, bend.take(), corner));
                }
                bend = Some(radius_mm);
                arc_ended = true;
                if split[index + 1..].iter().all(|later| later.kind == SegmentKind::Between) {
                    out.push(tangent(points, segment.last, bend.take(), corner));
                }
            }
            SegmentKind::Between => {}
        }
    }
    out
}

/// The line along the pipe at a point, from its neighbours.
fn tangent(points: &[Point3<f64>], at: usize, bend_before: Option<f64>, corner: (usize, usize)) -> Straight {
    let (before, after) = (at.saturating_sub(1), (at + 1).min(points.len() - 1));
    let chord = points[after] - points[before];
    // At an end the chord to the only neighbour cuts the arc by half its angle: bend it on by as much.
    let along = match (at, points.len()) {
        (0, n) if n > 2 => chord * 2.0 - (points[2] - points[0]).normalize() * chord.norm(),
        (at, n) if at + 1 == n && n > 2 => {
            chord * 2.0 - (points[n - 1] - points[n - 3]).normalize() * chord.norm()
        }
        _ => chord,
    };
    Straight { through: points[at], along: Unit::new_normalize(along), bend_before, corner }
}

/// Middle of the shortest way between two lines; `None` when they are parallel.
fn crossing(one: &Straight, other: &Straight) -> Option<Point3<f64>> {
    let (u, v, w) = (one.along.into_inner(), other.along.into_inner(), one.through - other.through);
    let (b, d, e) = (u.dot(&v), u.dot(&w), v.dot(&w));
    let under = 1.0 - b * b;
    if under < 1e-8 {
        return None;
    }
    let (s, t) = ((b * e - d) / under, (e - b * d) / under);
    Some(nalgebra::center(&(one.through + u * s), &(other.through + v * t)))
}

/// Ends level with the first and last points, but never inside the bend next to them.
fn level_ends(model: &mut Model, points: &[Point3<f64>]) {
    let count = model.points.len();
    for (end, next, point) in [(0, 1, points[0]), (count - 1, count - 2, points[points.len() - 1])] {
        let corner = model.points[next];
        let out = (model.points[end] - corner).normalize();
        let setback = if count > 2 {
            let beyond = if end == 0 { model.points[2] } else { model.points[count - 3] };
            let turn = (-out).cross(&(beyond - corner)).norm().atan2((-out).dot(&(beyond - corner)));
            model.radii_mm[if end == 0 { 0 } else { count - 3 }] * (turn / 2.0).tan()
        } else {
            0.0
        };
        model.points[end] = corner + out * (point - corner).dot(&out).max(setback);
    }
}
