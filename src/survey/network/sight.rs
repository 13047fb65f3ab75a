//! Distances to one mark from marks that stand already, and what they say of it alone.

use nalgebra::{Matrix3, Point3, Vector3};

use super::network_graph::Graph;
use crate::survey::levenberg::{Evaluation, minimise};

/// No reading counts for more than this many sigma: one misread distance must not rule out the truth.
const WORST_SIGMAS: f64 = 10.0;
/// Triples of distances tried at most for one mark.
const MOST_TRIPLES: usize = 200;

/// Where a mark stands, and how well that is known, mm.
pub(super) type Place = (Point3<f64>, f64);

/// A distance to a mark that stands already.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sight {
    pub edge: usize,
    pub node: usize,
    pub anchor: Point3<f64>,
    pub distance_mm: f64,
    /// The tape's sigma and the anchor's together.
    pub sigma_mm: f64,
}

/// The distances to a mark, from marks with a place.
pub(super) fn sights(graph: &Graph, active: &[bool], places: &[Option<Place>], node: usize) -> Vec<Sight> {
    graph
        .edges
        .iter()
        .enumerate()
        .filter(|(i, _)| active[*i])
        .filter_map(|(edge, reading)| {
            let other = reading.other(node)?;
            let (anchor, sigma) = places[other]?;
            let sigma_mm = reading.sigma_mm.hypot(sigma);
            Some(Sight { edge, node: other, anchor, distance_mm: reading.distance_mm, sigma_mm })
        })
        .collect()
}

/// Solved less read, mm.
pub(super) fn miss(sight: &Sight, place: &Point3<f64>) -> f64 {
    (place - sight.anchor).norm() - sight.distance_mm
}

/// Sum of squares over sigma, no reading counting for more than [`WORST_SIGMAS`].
pub(super) fn cost(sights: &[Sight], place: &Point3<f64>) -> f64 {
    sights.iter().map(|s| (miss(s, place) / s.sigma_mm).powi(2).min(WORST_SIGMAS * WORST_SIGMAS)).sum()
}

fn evaluate(sights: &[Sight], place: &Point3<f64>) -> Evaluation {
    let mut builder = Evaluation::builder(3);
    for sight in sights {
        let away = (place - sight.anchor).try_normalize(1e-300).unwrap_or_else(Vector3::x);
        builder.known(sight.sigma_mm, miss(sight, place), &[away.x, away.y, away.z]);
    }
    builder.done()
}

/// The least-squares place near `start`.
pub(super) fn refine(sights: &[Sight], start: Point3<f64>) -> Point3<f64> {
    minimise(
        start,
        |place| evaluate(sights, place),
        |place, step| place + Vector3::new(step[0], step[1], step[2]),
    )
    .state
}

/// Plane of the marks measured from, least squares: a point and the normal.
pub(super) fn plane_of(sights: &[Sight]) -> (Point3<f64>, Vector3<f64>) {
    let middle = sights.iter().fold(Vector3::zeros(), |sum, s| sum + s.anchor.coords) / sights.len() as f64;
    let scatter = sights.iter().fold(Matrix3::zeros(), |sum, s| {
        let q = s.anchor.coords - middle;
        sum + q * q.transpose()
    });
    let eigen = scatter.symmetric_eigen();
    (Point3::from(middle), eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned())
}

/// How well a placed mark is known, mm; and, where a straight-line estimate no longer holds because
/// the mark lies in the plane of its anchors, how well instead.
pub(super) fn certainty(sights: &[Sight], place: &Point3<f64>) -> (f64, Option<f64>) {
    let jacobian = evaluate(sights, place).jacobian;
    let normal: Matrix3<f64> = (jacobian.transpose() * jacobian).fixed_view::<3, 3>(0, 0).into_owned();
    let least = normal.symmetric_eigen().eigenvalues.min().max(0.0);
    let worst_variance = 1.0 / least.max(1e-300);
    let n = sights.len() as f64;
    let distance = sights.iter().map(|s| s.distance_mm).sum::<f64>() / n;
    let sigma = sights.iter().map(|s| s.sigma_mm).sum::<f64>() / n;
    // Moving by s square to a tape of length d changes it by s^2 / 2d: when that is as much as
    // the tape's sigma, slopes no longer tell how far the mark may be off.
    let weak = worst_variance > distance * sigma / 3.0;
    (worst_variance.sqrt().min(distance), weak.then(|| (2.0 * distance * sigma).sqrt()))
}

/// Triples of sights with marks not on one line, those that span the widest triangle first.
pub(super) fn triples(sights: &[Sight]) -> Vec<[usize; 3]> {
    let n = sights.len().min(24);
    let mut found = Vec::new();
    for a in 0..n {
        for b in a + 1..n {
            for c in b + 1..n {
                let (p, q, r) = (sights[a].anchor, sights[b].anchor, sights[c].anchor);
                let area = (q - p).cross(&(r - p)).norm();
                let longest = (q - p).norm().max((r - p).norm()).max((r - q).norm());
                // Thinner than a hundredth of its length, a triangle is a line to a tape.
                if area > 0.01 * longest * longest {
                    found.push((area, [a, b, c]));
                }
            }
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().take(MOST_TRIPLES).map(|(_, triple)| triple).collect()
}
