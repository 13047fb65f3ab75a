//! Pulling a way taut: shorter, and still proved as clear as asked.

use nalgebra::Point3;

use super::field::{Field, Spot};
use super::prove::segment;

/// Rounds of pulling; each shortens or is the last.
const ROUNDS: usize = 12;
/// Sides longer than this get a corner more, so that a way can bend round what it is pulled over.
const LONG_MM: f64 = 60.0;

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

/// How taut.
pub(super) struct Pull<'a> {
    /// Every segment stays proved this clear, mm.
    pub floor_mm: f64,
    /// Pieces shorter than this are not looked into, mm.
    pub least_mm: f64,
    /// Where the first corner may slide to, given the second: on the open side, toward a shoulder.
    pub slide: Option<&'a dyn Fn(&Point3<f64>) -> Point3<f64>>,
}

/// A shorter way with the same last corner; every changed segment is proved anew.
pub(super) fn taut(field: &mut Field<'_>, way: &[Spot], how: &Pull<'_>) -> Vec<Spot> {
    let mut way = shortcut(field, way, how);
    let mut before_mm = f64::INFINITY;
    for _ in 0..ROUNDS {
        if let (Some(slide), true) = (how.slide, way.len() >= 2) {
            let first = field.spot(slide(&way[1].at));
            if clear(field, &first, &way[1], how) {
                way[0] = first;
            }
        }
        way = with_corners(field, &way);
        let mut i = 1;
        while i + 1 < way.len() {
            if clear(field, &way[i - 1], &way[i + 1], how) {
                way.remove(i);
                continue;
            }
            // Toward the straight line between its neighbours, as far as it goes.
            let (a, b, here) = (way[i - 1].at, way[i + 1].at, way[i].at);
            let along = b - a;
            let share = ((here - a).dot(&along) / along.norm_squared().max(1e-12)).clamp(0.0, 1.0);
            let straight = a + along * share;
            for part in [0.9, 0.5, 0.2, 0.05] {
                let moved = field.spot(here + (straight - here) * part);
                if clear(field, &way[i - 1], &moved, how) && clear(field, &moved, &way[i + 1], how) {
                    way[i] = moved;
                    break;
                }
            }
            i += 1;
        }
        let now_mm = length_mm(way.iter().map(|spot| &spot.at));
        if before_mm - now_mm < 1e-3 * now_mm {
            break;
        }
        before_mm = now_mm;
    }
    way
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

fn with_corners(field: &mut Field<'_>, way: &[Spot]) -> Vec<Spot> {
    let mut finer = Vec::with_capacity(2 * way.len());
    for pair in way.windows(2) {
        finer.push(pair[0]);
        if way.len() > 2 && (pair[1].at - pair[0].at).norm() > LONG_MM {
            finer.push(field.spot(nalgebra::center(&pair[0].at, &pair[1].at)));
        }
    }
    finer.extend(way.last());
    finer
}
