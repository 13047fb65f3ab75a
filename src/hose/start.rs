//! Shapes to begin from.

use nalgebra::{Point3, Vector3};

use super::rod::Span;

/// Directions of the pieces of smooth lines between the holds, as long as the span: one that leaves both ends evenly, and
/// four that bulge to a side.
pub(super) fn starts(span: &Span, pieces: usize) -> Vec<Vec<Vector3<f64>>> {
    let (a, b) = (span.from.0, span.to.0);
    let line = b - a;
    let across = if line.x.abs() < 0.7 * line.norm() { Vector3::x() } else { Vector3::y() };
    let side = line.cross(&across).try_normalize(1e-12).unwrap_or_else(Vector3::x);
    let up = line.cross(&side).try_normalize(1e-12).unwrap_or_else(Vector3::y);
    [Vector3::zeros(), side, -side, up, -up, -span.up]
        .iter()
        .map(|bulge| as_long_as(span, pieces, bulge))
        .collect()
}

/// How far a line leaves its ends, and bulges, so that it has the length asked for.
fn as_long_as(span: &Span, pieces: usize, bulge: &Vector3<f64>) -> Vec<Vector3<f64>> {
    let (mut low, mut high) = (0.0, 4.0 * span.length_mm);
    for _ in 0..50 {
        let middle = (low + high) / 2.0;
        if length(&curve(span, middle, bulge, 64)) > span.length_mm { high = middle } else { low = middle }
    }
    let points = curve(span, low, bulge, 8 * pieces);
    // Cut at even lengths.
    let whole = length(&points);
    let mut directions = Vec::with_capacity(pieces);
    let (mut come, mut at, mut last) = (0.0, 0, points[0]);
    for piece in 1..=pieces {
        let due = whole * piece as f64 / pieces as f64;
        while at + 2 < points.len() && come + (points[at + 1] - points[at]).norm() < due {
            come += (points[at + 1] - points[at]).norm();
            at += 1;
        }
        let step = points[at + 1] - points[at];
        let here = points[at] + step * ((due - come) / step.norm().max(1e-12)).clamp(0.0, 1.0);
        directions.push((here - last).try_normalize(1e-12).unwrap_or(span.from.1.into_inner()));
        last = here;
    }
    directions
}

/// A cubic between the holds that leaves them by `reach`, with a bulge of the same size.
fn curve(span: &Span, reach: f64, bulge: &Vector3<f64>, count: usize) -> Vec<Point3<f64>> {
    (0..=count)
        .map(|at| {
            let t = at as f64 / count as f64;
            let (t2, t3) = (t * t, t * t * t);
            let ends =
                span.from.0.coords * (2.0 * t3 - 3.0 * t2 + 1.0) + span.to.0.coords * (3.0 * t2 - 2.0 * t3);
            let out = span.from.1.into_inner() * (t3 - 2.0 * t2 + t) + span.to.1.into_inner() * (t3 - t2);
            Point3::from(ends + out * reach + bulge * (reach * 2.0 * t2 * (1.0 - t) * (1.0 - t)))
        })
        .collect()
}

fn length(points: &[Point3<f64>]) -> f64 {
    points.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum()
}
