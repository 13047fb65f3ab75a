//! Pulling a way taut: shorter, and still proved as clear as asked.

use nalgebra::Point3;

use super::climb::{Climb, climb};
use super::field::{Field, Spot};
use super::prove::{least, segment, sure_mm};

/// A round of pulling that gains less than this share is the last.
const LEAST_GAIN: f64 = 1e-4;
/// Corners nearer to each other than this are not set, mm.
const CLOSE_MM: f64 = 3.0;
/// No corners are added to a way that has this many.
const MOST_CORNERS: usize = 100;

/// Length of a polyline, mm.
pub(in crate::access) fn length_mm<'a>(corners: impl IntoIterator<Item = &'a Point3<f64>>) -> f64 {
    let mut length = 0.0;
    let mut before: Option<&Point3<f64>> = None;
    for corner in corners {
        length += before.map_or(0.0, |before| (corner - before).norm());
        before = Some(corner);
    }
    length
}

/// Moves a way's first corner, given its second.
pub(super) type Slide<'a> = &'a dyn Fn(&Point3<f64>) -> Point3<f64>;

/// Moves a way's last corner, given the one before it; none where it must stay.
pub(super) type Arrive<'a> = &'a dyn Fn(&Point3<f64>) -> Option<Point3<f64>>;

/// How taut.
pub(super) struct Pull<'a> {
    /// Every segment stays proved this clear, mm.
    pub floor_mm: f64,
    /// Most rounds; a handful tidies, some dozens make it taut.
    pub rounds: u32,
    /// Pieces shorter than this are not looked into, mm.
    pub least_mm: f64,
    /// Where the first corner may slide to, given the second: on the open side, toward a shoulder.
    pub slide: Option<Slide<'a>>,
    /// Where the last corner may go, given the one before it.
    pub arrive: Option<Arrive<'a>>,
}

/// A shorter way; every changed segment is proved anew.
///
/// Each corner is drawn toward the straight line between its neighbours, pushed back out of what it
/// then comes too near, and stays where the way is shorter and still proved. Corners are added
/// where a side passes something closely, so that it can bend there.
pub(super) fn taut(field: &mut Field<'_>, way: &[Spot], how: &Pull<'_>) -> Vec<Spot> {
    let mut way = shortcut(field, way, how);
    let mut before_mm = f64::INFINITY;
    for _ in 0..how.rounds {
        if let (Some(slide), true) = (how.slide, way.len() >= 2) {
            let first = field.spot(slide(&way[1].at));
            if clear(field, &first, &way[1], how) {
                way[0] = first;
            }
        }
        if let (Some(arrive), true) = (how.arrive, way.len() >= 2) {
            let last = way.len() - 1;
            if let Some(at) = arrive(&way[last - 1].at) {
                let end = field.spot(at);
                if clear(field, &way[last - 1], &end, how) {
                    way[last] = end;
                }
            }
        }
        way = with_corners(field, &way, how);
        for i in 1..way.len().saturating_sub(1) {
            draw(field, &mut way, i, how);
        }
        let now_mm = length_mm(way.iter().map(|spot| &spot.at));
        if before_mm - now_mm < LEAST_GAIN * now_mm {
            break;
        }
        before_mm = now_mm;
    }
    shortcut(field, &way, how)
}

/// Draws one corner toward the straight line between its neighbours.
fn draw(field: &mut Field<'_>, way: &mut [Spot], i: usize, how: &Pull<'_>) {
    let (a, here, b) = (way[i - 1], way[i], way[i + 1]);
    let along = b.at - a.at;
    let share = ((here.at - a.at).dot(&along) / along.norm_squared().max(1e-12)).clamp(0.0, 1.0);
    let off = a.at + along * share - here.at;
    if off.norm() < 1e-3 {
        return;
    }
    let around_mm = |spot: &Spot| (spot.at - a.at).norm() + (b.at - spot.at).norm();
    for part in [0.9, 0.5, 0.25, 0.1] {
        let mut moved = field.spot(here.at + off * part);
        let enough_mm = how.floor_mm + how.least_mm;
        if moved.clear_mm < enough_mm {
            let back = Climb {
                step_mm: (enough_mm - moved.clear_mm).max(how.least_mm),
                least_step_mm: 0.25 * how.least_mm,
                enough_mm,
                known: &[],
            };
            moved = climb(field, moved, &back, |at| at);
        }
        if around_mm(&moved) < around_mm(&here) - 1e-6
            && clear(field, &a, &moved, how)
            && clear(field, &moved, &b, how)
        {
            way[i] = moved;
            return;
        }
    }
}

fn clear(field: &mut Field<'_>, a: &Spot, b: &Spot, how: &Pull<'_>) -> bool {
    segment(field, a, b, how.floor_mm, how.least_mm).is_ok()
}

/// From each corner straight to the farthest of those tried that is proved clear.
fn shortcut(field: &mut Field<'_>, way: &[Spot], how: &Pull<'_>) -> Vec<Spot> {
    let Some(first) = way.first() else { return Vec::new() };
    let mut short = vec![*first];
    let mut i = 0;
    while i + 1 < way.len() {
        let mut stride = way.len() - 1 - i;
        while stride > 1 && !clear(field, &way[i], &way[i + stride], how) {
            stride = stride * 2 / 3;
        }
        i += stride.max(1);
        short.push(way[i]);
    }
    short
}

/// With a corner more where a side passes something closely and away from its ends.
fn with_corners(field: &mut Field<'_>, way: &[Spot], how: &Pull<'_>) -> Vec<Spot> {
    let mut finer = Vec::with_capacity(2 * way.len());
    for pair in way.windows(2) {
        finer.push(pair[0]);
        let tight_mm = 1.1 * how.floor_mm + how.least_mm;
        let straight_on = way.len() == 2 && how.slide.is_none();
        if way.len() >= MOST_CORNERS || straight_on || sure_mm(&pair[0], &pair[1]) > tight_mm {
            continue;
        }
        let narrow = least(field, pair, how.least_mm).at;
        let apart_mm = (narrow.at - pair[0].at).norm().min((narrow.at - pair[1].at).norm());
        if narrow.clear_mm < tight_mm && apart_mm > CLOSE_MM {
            finer.push(narrow);
        }
    }
    finer.extend(way.last());
    finer
}
