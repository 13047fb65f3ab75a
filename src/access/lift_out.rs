//! Straight out: a body lifted along a direction, proved over the whole travel.

use nalgebra::{Unit, Vector3};

use crate::clearance::{GapUnder, Witness, gap_under};
use crate::motion::{Freedom, GapOverUnder, Movement, Rider, gap_over, gap_over_under};
use crate::space::{Length, Pose};

use super::{AccessError, Bodies, free_travel};

/// Which body comes out, and how.
#[derive(Clone, Debug)]
pub struct LiftOutAsk<'a> {
    /// The body and all others.
    pub bodies: &'a Bodies,
    /// Number of the body that comes out.
    pub body: usize,
    /// Bodies taken off first.
    pub without: &'a [usize],
    /// Bodies that it stands on or is strapped to: they may touch it as they do at rest, no closer.
    pub seats: &'a [usize],
    /// Which way.
    pub along: Unit<Vector3<f64>>,
    /// How far until it is free, mm.
    pub travel_mm: f64,
    /// Gap that it must keep from each body on the way, mm, by the body's number; the last one holds for
    /// all numbers beyond.
    pub room_mm: &'a [f64],
    /// How closely gaps and travels are wanted, mm.
    pub tolerance_mm: f64,
}

/// Where a lift stops.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    /// The body that is come too near.
    pub body: usize,
    /// Up to this travel the room is kept: proved; mm.
    pub free_mm: f64,
    /// The least gap to that body over the whole travel lies between this, mm: proved ...
    pub gap_lower_mm: f64,
    /// ... and this, mm: found at [`Stop::worst_at_mm`].
    pub gap_upper_mm: f64,
    /// Travel at the worst place found, mm.
    pub worst_at_mm: f64,
    /// The worst place, in the world with the body lifted that far: `on_fixed` is on the body in the way,
    /// `on_moving` on the one that comes out, both bare.
    pub worst_place: Witness,
}

/// Whether a body comes straight out.
#[derive(Clone, Debug, PartialEq)]
pub struct LiftOut {
    /// The longest travel over which the room is kept from all bodies: proved, mm.
    pub free_mm: f64,
    /// Proved: to no body is the gap less than this on the whole travel, mm (seats apart).
    pub least_gap_mm: f64,
    /// What is in the way, in the order in which it is met; empty when the body comes out.
    pub stops: Vec<Stop>,
}

/// Whether a body comes straight out with its room, and if not how far and what it meets.
///
/// # Errors
/// A number out of its range, or of no body.
pub fn lift_out(ask: &LiftOutAsk<'_>) -> Result<LiftOut, AccessError> {
    AccessError::in_range("the travel, mm,", ask.travel_mm, 0.1..=1e5, "0.1 mm to 100 m")?;
    for room_mm in ask.room_mm {
        AccessError::in_range("the room to keep, mm,", *room_mm, 0.0..=1000.0, "0 to 1000 mm")?;
    }
    AccessError::in_range("the tolerance, mm,", ask.tolerance_mm, 1e-4..=10.0, "0.0001 to 10 mm")?;
    for body in ask.without.iter().chain(ask.seats) {
        ask.bodies.body(*body)?;
    }
    let lifted = ask.bodies.body(ask.body)?;
    let still = Movement::still();
    let slide =
        Movement { freedoms: vec![Freedom::Slide { along: ask.along, from_mm: 0.0, to_mm: ask.travel_mm }] };
    let tolerance = Length::from_mm(ask.tolerance_mm);
    let rest = ask.bodies.bounds_of(ask.body);
    let shift = ask.along.into_inner() * ask.travel_mm;
    let swept = rest.union(&rest.moved(&Pose::translation(shift.x, shift.y, shift.z)));
    let mut out = LiftOut { free_mm: ask.travel_mm, least_gap_mm: f64::INFINITY, stops: Vec::new() };
    for (number, other) in ask.bodies.list().iter().enumerate() {
        if number == ask.body || ask.without.contains(&number) {
            continue;
        }
        let room_mm = ask.room_mm.get(number).or(ask.room_mm.last()).copied().unwrap_or(0.0);
        let apart_mm = ask.bodies.bounds_of(number).gap_mm(&swept);
        if apart_mm > room_mm + 1.0 {
            out.least_gap_mm = out.least_gap_mm.min(apart_mm);
            continue;
        }
        let cover_mm = lifted.cover_mm + other.cover_mm;
        let fixed = Rider { shape: &other.shape, world_from_solid: &other.world_from_body, movement: &still };
        let moving =
            Rider { shape: &lifted.shape, world_from_solid: &lifted.world_from_body, movement: &slide };
        // Least gap allowed, covers off: the room, or for a seat what there is at rest.
        let gap_at = |travel_mm: f64, limit_mm: f64| {
            let off = ask.along.into_inner() * travel_mm;
            let world_from_lifted = Pose::translation(off.x, off.y, off.z) * lifted.world_from_body;
            let other_from_lifted = other.world_from_body.inv_mul(&world_from_lifted);
            match gap_under(&other.shape, &lifted.shape, &other_from_lifted, Length::from_mm(limit_mm)) {
                GapUnder::Clear { at_least } => at_least.mm(),
                GapUnder::Under(gap) => gap.gap.mm(),
            }
        };
        let seat = ask.seats.contains(&number);
        let allowed_mm = if seat {
            // Rounding at a surface that is touched must not count as coming closer.
            gap_at(0.0, f64::INFINITY).min(room_mm + cover_mm) - 2.0 * ask.tolerance_mm
        } else {
            room_mm + cover_mm
        };
        let over = match gap_over_under(&fixed, &moving, Length::from_mm(allowed_mm), tolerance) {
            GapOverUnder::Clear { at_least } => {
                if !seat {
                    out.least_gap_mm = out.least_gap_mm.min(at_least.mm() - cover_mm);
                }
                continue;
            }
            GapOverUnder::Under(over) => over,
        };
        // The proved least gap, whatever the budget of the first question was.
        let over = if over.settled { over } else { gap_over(&fixed, &moving, tolerance) };
        let horizon_mm = allowed_mm + ask.travel_mm;
        let free_mm = free_travel(0.0, ask.travel_mm, ask.tolerance_mm, &mut |travel_mm| {
            gap_at(travel_mm, horizon_mm) - allowed_mm
        });
        out.free_mm = out.free_mm.min(free_mm);
        if !seat {
            out.least_gap_mm = out.least_gap_mm.min(over.lower.mm() - cover_mm);
        }
        out.stops.push(Stop {
            body: number,
            free_mm,
            gap_lower_mm: over.lower.mm() - cover_mm,
            gap_upper_mm: over.upper.gap.mm() - cover_mm,
            worst_at_mm: over.moving_values.first().copied().unwrap_or(0.0),
            worst_place: over.upper.witness,
        });
    }
    out.stops.sort_by(|a, b| a.free_mm.total_cmp(&b.free_mm).then(a.body.cmp(&b.body)));
    Ok(out)
}
