//! Proving that a polyline is clear, from clearances at points and nothing else.
//!
//! Between two places a and b that are L apart, the clearance is at least (c(a) + c(b) - L) / 2,
//! because it changes by no more than the distance walked. Where that is not enough the middle is
//! looked at and the halves are asked.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use nalgebra::Point3;

use super::climb::{Climb, climb};
use super::field::{Field, Spot};

/// The least clearance that a segment is sure to have, mm.
pub(super) fn sure_mm(a: &Spot, b: &Spot) -> f64 {
    0.5 * (a.clear_mm + b.clear_mm - (b.at - a.at).norm())
}

/// Proves the segment at least `floor_mm` clear, or says where it is not (or not provably so by
/// pieces of `least_mm`).
pub(super) fn segment(
    field: &mut Field<'_>,
    a: &Spot,
    b: &Spot,
    floor_mm: f64,
    least_mm: f64,
) -> Result<(), Spot> {
    if a.clear_mm < floor_mm {
        return Err(*a);
    }
    if b.clear_mm < floor_mm {
        return Err(*b);
    }
    if sure_mm(a, b) >= floor_mm {
        return Ok(());
    }
    let middle = field.spot(nalgebra::center(&a.at, &b.at));
    if middle.clear_mm < floor_mm || (b.at - a.at).norm() < least_mm {
        return Err(middle);
    }
    segment(field, a, &middle, floor_mm, least_mm)?;
    segment(field, &middle, b, floor_mm, least_mm)
}

/// How [`bent`] goes about it.
pub(super) struct Bend {
    pub floor_mm: f64,
    pub slack_mm: f64,
    /// How often a segment may be broken in two.
    pub depth: u32,
}

/// Proves a way from `a` to `b`: straight, or with corners pushed aside from what is near. Appends
/// the corners and `b`.
pub(super) fn bent(
    field: &mut Field<'_>,
    a: &Spot,
    b: &Spot,
    how: &Bend,
    keep: &dyn Fn(Point3<f64>) -> Point3<f64>,
    into: &mut Vec<Spot>,
) -> bool {
    let Err(middle) = segment(field, a, b, how.floor_mm, 0.125 * how.slack_mm) else {
        into.push(*b);
        return true;
    };
    let length = (b.at - a.at).norm();
    let ends_fail = a.clear_mm < how.floor_mm || b.clear_mm < how.floor_mm;
    if how.depth == 0 || length < how.slack_mm || ends_fail {
        return false;
    }
    let ask = Climb {
        step_mm: 0.25 * length,
        least_step_mm: 0.125 * how.slack_mm,
        enough_mm: how.floor_mm + how.slack_mm,
        known: &[],
    };
    let start = if middle.at == a.at || middle.at == b.at {
        field.spot(nalgebra::center(&a.at, &b.at))
    } else {
        middle
    };
    let corner = climb(field, start, &ask, keep);
    let next = Bend { depth: how.depth - 1, ..*how };
    let mark = into.len();
    if bent(field, a, &corner, &next, keep, into) && bent(field, &corner, b, &next, keep, into) {
        return true;
    }
    into.truncate(mark);
    false
}

/// The least clearance along a polyline: a proved lower bound, and the narrowest place found,
/// which is within `within_mm` of it.
pub(super) struct Least {
    pub sure_mm: f64,
    pub at: Spot,
    /// The narrowest place lies between corner `after` and the next.
    pub after: usize,
}

struct Piece {
    sure_mm: f64,
    a: Spot,
    b: Spot,
    after: usize,
}

impl PartialEq for Piece {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Piece {}
impl Ord for Piece {
    fn cmp(&self, other: &Self) -> Ordering {
        other.sure_mm.total_cmp(&self.sure_mm).then(other.after.cmp(&self.after))
    }
}
impl PartialOrd for Piece {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// See [`Least`]. The polyline has at least one corner.
pub(super) fn least(field: &mut Field<'_>, corners: &[Spot], within_mm: f64) -> Least {
    let mut found = Least { sure_mm: 0.0, at: corners[0], after: 0 };
    for (after, corner) in corners.iter().enumerate() {
        if corner.clear_mm < found.at.clear_mm {
            found.at = *corner;
            found.after = after.min(corners.len().saturating_sub(2));
        }
    }
    let piece = |a: Spot, b: Spot, after| Piece { sure_mm: sure_mm(&a, &b), a, b, after };
    let mut heap: BinaryHeap<Piece> =
        corners.windows(2).enumerate().map(|(after, pair)| piece(pair[0], pair[1], after)).collect();
    while let Some(Piece { sure_mm, a, b, after }) = heap.pop() {
        if sure_mm >= found.at.clear_mm - within_mm {
            found.sure_mm = sure_mm;
            return found;
        }
        let middle = field.spot(nalgebra::center(&a.at, &b.at));
        if middle.clear_mm < found.at.clear_mm {
            found.at = middle;
            found.after = after;
        }
        heap.push(piece(a, middle, after));
        heap.push(piece(middle, b, after));
    }
    found.sure_mm = found.at.clear_mm;
    found
}
