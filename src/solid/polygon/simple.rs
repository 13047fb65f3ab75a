//! Whether rings are simple, and stand clear of each other.

use nalgebra::Point2;

use super::super::error::finite;
use super::super::{Ring, ShapeError};
use super::flat::edges;

struct Edge {
    ring: usize,
    index: usize,
    a: Point2<f64>,
    b: Point2<f64>,
}

impl Edge {
    fn least_x(&self) -> f64 {
        self.a.x.min(self.b.x)
    }

    fn greatest_x(&self) -> f64 {
        self.a.x.max(self.b.x)
    }
}

fn name(ring: usize) -> Ring {
    if ring == 0 { Ring::Outline } else { Ring::Hole(ring - 1) }
}

/// Checks an outline (the first ring) and its holes: at least three finite points each, none the same
/// as the one before, no ring meeting itself or another, holes inside the outline and not inside one
/// another. Tests only pairs of edges that overlap along x.
pub(in super::super) fn check_rings(rings: &[&[Point2<f64>]]) -> Result<(), ShapeError> {
    let mut all = Vec::new();
    for (index, ring) in rings.iter().enumerate() {
        let what = if index == 0 { "points of the outline" } else { "points of a hole" };
        if ring.len() < 3 {
            return Err(ShapeError::TooFew { what, found: ring.len(), needed: 3 });
        }
        finite(if index == 0 { "outline point" } else { "hole point" }, ring)?;
        for (edge, (a, b)) in edges(ring).enumerate() {
            if a == b {
                let second = (edge + 1) % ring.len();
                let (first, second) = (edge.min(second), edge.max(second));
                return Err(ShapeError::RepeatedPoint { what: name(index), first, second });
            }
            all.push(Edge { ring: index, index: edge, a, b });
        }
    }
    all.sort_by(|one, other| one.least_x().total_cmp(&other.least_x()));
    for (place, one) in all.iter().enumerate() {
        for other in &all[place + 1..] {
            if other.least_x() > one.greatest_x() {
                break;
            }
            let count = rings[one.ring].len();
            check_pair(one, other, count)?;
        }
    }
    for (index, hole) in rings.iter().enumerate().skip(1) {
        if !within(&hole[0], rings[0]) {
            return Err(ShapeError::HoleOutside { hole: index - 1 });
        }
        for (outer, around) in rings.iter().enumerate().skip(1) {
            if outer != index && within(&hole[0], around) {
                return Err(ShapeError::HoleInHole { inner: index - 1, outer: outer - 1 });
            }
        }
    }
    Ok(())
}

fn check_pair(one: &Edge, other: &Edge, count: usize) -> Result<(), ShapeError> {
    let same = one.ring == other.ring;
    let meet = if same && (one.index + 1) % count == other.index {
        folds_back(&one.a, &one.b, &other.b)
    } else if same && (other.index + 1) % count == one.index {
        folds_back(&other.a, &other.b, &one.b)
    } else {
        meeting(one, other)
    };
    let Some(at) = meet else { return Ok(()) };
    if same {
        let (first, second) = (one.index.min(other.index), one.index.max(other.index));
        return Err(ShapeError::SelfCrossing { ring: name(one.ring), first, second, x_mm: at.x, y_mm: at.y });
    }
    let (first, second) = (name(one.ring.min(other.ring)), name(one.ring.max(other.ring)));
    Err(ShapeError::RingsMeet { first, second, x_mm: at.x, y_mm: at.y })
}

/// Twice the area of a triangle, positive when it runs counter-clockwise.
fn turn(a: &Point2<f64>, b: &Point2<f64>, c: &Point2<f64>) -> f64 {
    (b - a).perp(&(c - a))
}

/// Two edges that follow each other lie on top of each other.
fn folds_back(a: &Point2<f64>, b: &Point2<f64>, c: &Point2<f64>) -> Option<Point2<f64>> {
    (turn(a, b, c) == 0.0 && (b - a).dot(&(c - b)) < 0.0).then_some(*b)
}

fn meeting(one: &Edge, other: &Edge) -> Option<Point2<f64>> {
    let (c, d) = (turn(&one.a, &one.b, &other.a), turn(&one.a, &one.b, &other.b));
    let (a, b) = (turn(&other.a, &other.b, &one.a), turn(&other.a, &other.b, &one.b));
    let apart = |x: f64, y: f64| (x > 0.0 && y > 0.0) || (x < 0.0 && y < 0.0);
    if apart(c, d) || apart(a, b) {
        return None;
    }
    if c != d && a != b {
        return Some(one.a + (one.b - one.a) * (a / (a - b)));
    }
    // All on one line: they meet if an end of one lies on the other.
    [(other.a, one), (other.b, one), (one.a, other)]
        .into_iter()
        .find(|(point, edge)| (edge.a - point).dot(&(edge.b - point)) <= 0.0)
        .map(|(point, _)| point)
}

/// Whether a point lies within a ring; one on the ring itself may go either way.
fn within(at: &Point2<f64>, ring: &[Point2<f64>]) -> bool {
    edges(ring)
        .filter(|(a, b)| {
            (a.y > at.y) != (b.y > at.y) && at.x < a.x + (b.x - a.x) * (at.y - a.y) / (b.y - a.y)
        })
        .count()
        % 2
        == 1
}
