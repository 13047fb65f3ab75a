//! Moving a place away from what is near, so that it has more room.
//!
//! Nothing here proves anything: it only finds good places, whose clearance is then looked up.

use nalgebra::{Point3, Vector3};

use crate::access::Near;

use super::field::{Field, Spot};

/// How a climb goes.
pub(super) struct Climb<'a> {
    /// First step, mm.
    pub step_mm: f64,
    /// Steps shorter than this end it, mm.
    pub least_step_mm: f64,
    /// Clearance that is enough, mm.
    pub enough_mm: f64,
    /// Points of obstacles known from elsewhere.
    pub known: &'a [Near],
}

const STEPS: usize = 24;

/// Climbs from a spot; `keep` brings a place back to where it may be. Never ends lower than it began.
pub(super) fn climb(
    field: &mut Field<'_>,
    start: Spot,
    how: &Climb<'_>,
    keep: impl Fn(Point3<f64>) -> Point3<f64>,
) -> Spot {
    let mut spot = start;
    let mut step_mm = how.step_mm;
    let mut fresh = true;
    let mut seen: Vec<Near> = Vec::new();
    for _ in 0..STEPS {
        if spot.clear_mm >= how.enough_mm || step_mm < how.least_step_mm {
            break;
        }
        if fresh {
            field.look(&spot.at, step_mm);
            seen.clear();
            seen.extend_from_slice(&field.seen);
            fresh = false;
        }
        let Some(way) = way_up(&spot, step_mm, &seen, how.known) else {
            step_mm *= 0.5;
            continue;
        };
        let next = field.spot(keep(spot.at + way * step_mm));
        if next.clear_mm > spot.clear_mm {
            spot = next;
            fresh = true;
        } else {
            step_mm *= 0.5;
        }
    }
    spot
}

/// Away from everything that a step could bring nearest: a unit vector, or none when they cancel.
fn way_up(spot: &Spot, step_mm: f64, seen: &[Near], known: &[Near]) -> Option<Vector3<f64>> {
    let reach = spot.clear_mm + step_mm;
    let (mut sum, mut total) = (Vector3::zeros(), 0.0);
    for near in seen {
        let weight = (reach - near.clearance_mm) / step_mm;
        if weight > 0.0 {
            sum += near.away.into_inner() * weight;
            total += weight;
        }
    }
    if spot.clear_mm > 0.0 {
        for near in known {
            let weight = (reach - near.at_most_mm(&spot.at)) / step_mm;
            let off = spot.at - near.point;
            let distance = off.norm();
            if weight > 0.0 && distance > 1e-9 {
                sum += off * (weight / distance);
                total += weight;
            }
        }
    }
    let norm = sum.norm();
    (norm > 0.02 * total && norm > 1e-12).then(|| sum / norm)
}
