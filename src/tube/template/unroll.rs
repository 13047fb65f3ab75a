//! Following a closed curve with chords.

use std::f64::consts::TAU;

use nalgebra::Point2;

/// How far a chord may leave the curve, mm: a tenth of what a template must keep to.
const CHORD_MM: f64 = 0.005;
/// Halvings of a chord after which it is taken as it is.
const DEEPEST: u32 = 16;
/// Chords that every curve starts with; corners of a curve lie at quarters of a turn.
const FIRST: u32 = 48;

/// Points of a curve over one turn, first and last included, whose chords leave it by at most 0.005 mm.
pub(super) fn unroll(curve: impl Fn(f64) -> Point2<f64>) -> Vec<Point2<f64>> {
    let mut points = vec![curve(0.0)];
    for step in 0..FIRST {
        let (from, to) =
            (TAU * f64::from(step) / f64::from(FIRST), TAU * f64::from(step + 1) / f64::from(FIRST));
        follow(&curve, (from, curve(from)), (to, curve(to)), 0, &mut points);
    }
    points
}

fn follow(
    curve: &impl Fn(f64) -> Point2<f64>,
    (from, start): (f64, Point2<f64>),
    (to, end): (f64, Point2<f64>),
    depth: u32,
    points: &mut Vec<Point2<f64>>,
) {
    let at = |share: f64| curve(from + (to - from) * share);
    let chord = end - start;
    let length = chord.norm().max(1e-12);
    let strays =
        |point: Point2<f64>| (chord.x * (point.y - start.y) - chord.y * (point.x - start.x)).abs() / length;
    let middle = at(0.5);
    let most = [at(0.25), middle, at(0.75)].into_iter().map(strays).fold(0.0, f64::max);
    if most <= CHORD_MM || depth >= DEEPEST {
        points.push(end);
        return;
    }
    let half = (from + to) / 2.0;
    follow(curve, (from, start), (half, middle), depth + 1, points);
    follow(curve, (half, middle), (to, end), depth + 1, points);
}
