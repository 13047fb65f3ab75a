//! Which measured points lie on a straight and which on a bend.

use nalgebra::{Matrix3, Point3, Unit, Vector3};

/// A run of points, first and last included.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Segment {
    pub first: usize,
    pub last: usize,
    pub kind: SegmentKind,
}

/// What a run of points lies on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum SegmentKind {
    /// A line through a point.
    Line { through: Point3<f64>, along: Unit<Vector3<f64>> },
    /// A circle's arc.
    Arc { radius_mm: f64 },
    /// One or two points between straights, too few to say what they lie on.
    Between,
}

/// Cost of a point that belongs to no line or arc: a misfit of three sigma.
const BETWEEN: f64 = 9.0;
/// Parameters that a straight and a bend add by themselves, in the sense of Schwarz's criterion (Schwarz
/// 1978, Ann. Statist. 6:461, from memory): a line has four, a circle six.
const LINE_PARAMETERS: f64 = 4.0;
const ARC_PARAMETERS: f64 = 6.0;
/// Straights that may be bends are tried both ways, this many of them at most.
const MOST_DOUBTFUL: usize = 6;

/// Splits ordered points into lines and arcs so that misfit (in sigmas, squared) plus what each segment
/// costs is least: exact, by dynamic programming; n^2 fits of up to n points.
///
/// Segments are judged each by itself; that they must be tangent is for the fit of the whole tube.
pub(super) fn segments(points: &[Point3<f64>], sigma_mm: f64) -> Vec<Segment> {
    let count = points.len();
    let size = (3.0 * count as f64).ln();
    let mut best: Vec<(f64, Option<Segment>)> = vec![(f64::INFINITY, None); count + 1];
    best[0].0 = 0.0;
    for end in 1..=count {
        for first in 0..end {
            let before = best[first].0;
            if before >= best[end].0 {
                continue;
            }
            for (cost, kind) in choices(&points[first..end], sigma_mm, size) {
                if before + cost < best[end].0 {
                    best[end] = (before + cost, Some(Segment { first, last: end - 1, kind }));
                }
            }
        }
    }
    let mut out = Vec::new();
    let mut end = count;
    while let Some(segment) = best[end].1 {
        out.push(segment);
        end = segment.first;
    }
    out.reverse();
    out
}

/// The split itself, and every way to call doubtful straights bends: a short bend of small angle looks
/// straight by itself, but then the pipe has a kink on both sides of it. No two neighbours are called so.
pub(super) fn alternatives(points: &[Point3<f64>], split: &[Segment]) -> Vec<Vec<Segment>> {
    let along = |index: usize| match split[index].kind {
        SegmentKind::Line { along, .. } => Some(along),
        _ => None,
    };
    let doubtful: Vec<(usize, f64)> = (1..split.len().saturating_sub(1))
        .filter_map(|index| {
            let (before, _, after) = (along(index - 1)?, along(index)?, along(index + 1)?);
            let turn = before.cross(&after).norm().atan2(before.dot(&after));
            let chord = (points[split[index].last] - points[split[index].first]).norm();
            Some((index, 1.2 * chord / turn.max(0.02)))
        })
        .take(MOST_DOUBTFUL)
        .collect();
    (0..1u32 << doubtful.len())
        .filter_map(|called| {
            let mut out = split.to_vec();
            let mut last_bent = None;
            for (bit, (index, radius_mm)) in doubtful.iter().enumerate() {
                if called >> bit & 1 == 1 {
                    if last_bent.is_some_and(|last| last + 1 == *index) {
                        return None;
                    }
                    last_bent = Some(*index);
                    out[*index].kind = SegmentKind::Arc { radius_mm: *radius_mm };
                }
            }
            Some(out)
        })
        .collect()
}

fn choices(run: &[Point3<f64>], sigma_mm: f64, size: f64) -> Vec<(f64, SegmentKind)> {
    let mut out = Vec::new();
    if run.len() <= 2 {
        out.push((BETWEEN * run.len() as f64, SegmentKind::Between));
    }
    if run.len() >= 2
        && let Some((squares, kind)) = line(run)
    {
        out.push((squares / (sigma_mm * sigma_mm) + LINE_PARAMETERS * size, kind));
    }
    if run.len() >= 3
        && let Some((squares, kind)) = arc(run)
    {
        out.push((squares / (sigma_mm * sigma_mm) + ARC_PARAMETERS * size, kind));
    }
    out
}

fn spread(run: &[Point3<f64>]) -> (Point3<f64>, Matrix3<f64>) {
    let middle = Point3::from(run.iter().map(|p| p.coords).sum::<Vector3<f64>>() / run.len() as f64);
    let scatter = run.iter().map(|p| (p - middle) * (p - middle).transpose()).sum();
    (middle, scatter)
}

/// The line of least squared distances: through the middle along the widest spread.
fn line(run: &[Point3<f64>]) -> Option<(f64, SegmentKind)> {
    let (middle, scatter) = spread(run);
    let eigen = scatter.symmetric_eigen();
    let widest = eigen.eigenvalues.imax();
    let mut along = eigen.eigenvectors.column(widest).into_owned();
    if along.dot(&(run[run.len() - 1] - run[0])) < 0.0 {
        along = -along;
    }
    let along = Unit::try_new(along, 1e-12)?;
    let squares = run.iter().map(|p| (p - middle).cross(&along).norm_squared()).sum();
    Some((squares, SegmentKind::Line { through: middle, along }))
}

/// A circle in the plane of least squares, by the linear fit of x^2 + y^2 (Kasa 1976, IEEE Trans.
/// Instrum. Meas. 25:8, from memory): a start, refined later with all the rest.
fn arc(run: &[Point3<f64>]) -> Option<(f64, SegmentKind)> {
    let (middle, scatter) = spread(run);
    let eigen = scatter.symmetric_eigen();
    let normal = eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned();
    let u = eigen.eigenvectors.column(eigen.eigenvalues.imax()).into_owned();
    let v = normal.cross(&u);
    let flat = |p: &Point3<f64>| ((p - middle).dot(&u), (p - middle).dot(&v));
    let mut normal_matrix = Matrix3::zeros();
    let mut right = Vector3::zeros();
    for point in run {
        let (x, y) = flat(point);
        let row = Vector3::new(x, y, 1.0);
        normal_matrix += row * row.transpose();
        right += row * (x * x + y * y);
    }
    let solved = normal_matrix.lu().solve(&right)?;
    let (a, b) = (solved.x / 2.0, solved.y / 2.0);
    let radius_mm = (solved.z + a * a + b * b).sqrt();
    // Flatter than this over the points it would be a straight.
    let reach = (run[run.len() - 1] - run[0]).norm();
    if !radius_mm.is_finite() || radius_mm > 20.0 * reach {
        return None;
    }
    let squares = run
        .iter()
        .map(|p| {
            let (x, y) = flat(p);
            ((x - a).hypot(y - b) - radius_mm).powi(2) + (p - middle).dot(&normal).powi(2)
        })
        .sum();
    Some((squares, SegmentKind::Arc { radius_mm }))
}
