//! The straight way out of a body.

use crate::access::{AccessError, LiftOutAsk, Stop, lift_out};
use crate::check::pair::{GAP_TOLERANCE, Ready};
use crate::check::uncertainty::{
    COVERAGE, Side, expanded, variance_along, variance_between, worst_direction, worst_together,
};
use crate::check::{Verdict, decide};
use crate::scene::{Scene, ServiceKind, ServicePoint};
use crate::space::{Length, Pose};

use super::bay::{Bay, moved};
use super::part::Part;

/// Judges a lift-out, proved over its whole travel; nothing for other kinds.
pub(super) fn judge(
    scene: &Scene,
    ready: &[Ready<'_>],
    bay: &Bay,
    point: &ServicePoint,
) -> Result<Option<Part>, AccessError> {
    let (travel, room) = match point.kind {
        ServiceKind::LiftOut { travel, room } => (travel, room),
        ServiceKind::Plug { pull, .. } => (pull, Length::ZERO),
        _ => return Ok(None),
    };
    let Some(body) = bay.bodies.number(&point.body) else { return Ok(None) };
    let without = bay.numbers(&point.without);
    // What it is strapped to may touch it as it does at rest.
    let seats: Vec<usize> = scene
        .joined
        .iter()
        .filter_map(|joined| match (&joined.one, &joined.other) {
            (one, other) if *one == point.body => bay.bodies.number(other),
            (one, other) if *other == point.body => bay.bodies.number(one),
            _ => None,
        })
        .collect();
    // Room is kept even when both bodies stand off by as much as they may.
    let uncertainty_with =
        |other: usize| Length::from_mm(COVERAGE * ready[body].worst_standard_with(&ready[other]));
    let room_mm: Vec<f64> = (0..ready.len()).map(|other| (room + uncertainty_with(other)).mm()).collect();
    let ask = LiftOutAsk {
        bodies: &bay.bodies,
        body,
        without: &without,
        seats: &seats,
        along: point.along,
        travel_mm: travel.mm(),
        room_mm: &room_mm,
        tolerance_mm: GAP_TOLERANCE.mm(),
    };
    let lift = lift_out(&ask)?;
    // At a stop the worst place is known, and with it how well the gap there is.
    let lifted = ready[body].body;
    let uncertainty_at = |stop: &Stop| {
        let out = point.along.into_inner() * stop.worst_at_mm;
        let world_from_lifted =
            Pose::translation(out.x, out.y, out.z) * moved(scene, lifted.carrier, &bay.values);
        let place = &stop.worst_place;
        let one =
            Side { placement: &lifted.placement, world_from_rest: world_from_lifted, point: place.on_moving };
        let variance = match ready.get(stop.body) {
            None => variance_along(one.placement, &one.world_from_rest, &one.point, &place.normal),
            Some(other) => {
                let placement = &other.body.placement;
                let world_from_rest = moved(scene, other.body.carrier, &bay.values);
                variance_between(
                    &Side { placement, world_from_rest, point: place.on_fixed },
                    &one,
                    &place.normal,
                )
            }
        };
        expanded(variance)
    };
    // Short is proved at one place. Clear rests on the worst direction at the place of the least gap, for elsewhere the gap
    // may lie along another.
    let worst_at = |stop: &Stop| {
        let out = point.along.into_inner() * stop.worst_at_mm;
        let world_from_lifted =
            Pose::translation(out.x, out.y, out.z) * moved(scene, lifted.carrier, &bay.values);
        let own = worst_direction(&lifted.placement, &world_from_lifted, &stop.worst_place.on_moving);
        let Some(other) = ready.get(stop.body).map(|other| other.body) else {
            return Length::from_mm(COVERAGE * own);
        };
        let world_from_rest = moved(scene, other.carrier, &bay.values);
        let theirs = worst_direction(&other.placement, &world_from_rest, &stop.worst_place.on_fixed);
        Length::from_mm(COVERAGE * worst_together((&lifted.placement, own), (&other.placement, theirs)))
    };
    let judged = lift.stops.iter().map(|stop| {
        let (lower, upper) = (Length::from_mm(stop.gap_lower_mm), Length::from_mm(stop.gap_upper_mm));
        let verdict = match decide(lower, upper, uncertainty_at(stop), room) {
            Verdict::Touching => Verdict::Short,
            Verdict::Clear if lower - worst_at(stop) < room => Verdict::Undecided,
            verdict => verdict,
        };
        (verdict, stop)
    });
    // Of the worst, the first that is met on the way out.
    let mut worst = None;
    for (verdict, stop) in judged {
        if worst.is_none_or(|(known, _)| verdict > known) {
            worst = Some((verdict, stop));
        }
    }
    let Some((verdict, stop)) = worst.filter(|(verdict, _)| *verdict != Verdict::Clear) else {
        let first = match point.without.len() {
            0 => String::new(),
            1 => format!(", once `{}` is off", point.without[0]),
            count => format!(", once {count} bodies are off: {}", point.without.join(", ")),
        };
        let said = format!("it comes straight out over {travel} with {room} and more all round{first}");
        let mut part = Part::length("travel room", Verdict::Clear, Some(room), None, said);
        // Proved at least; what is nearer than that nobody asked.
        part.figure.actual = Some(room.mm());
        part.figure.at_least = true;
        return Ok(Some(part));
    };
    let name = bay.bodies.list().get(stop.body).map_or("", |body| body.name.as_str());
    let uncertainty = match verdict {
        Verdict::Undecided => uncertainty_at(stop).max(worst_at(stop)),
        _ => uncertainty_at(stop),
    };
    let gap = Length::from_mm(stop.gap_upper_mm);
    let free = Length::from_mm(stop.free_mm);
    let said = match verdict {
        Verdict::Undecided => format!(
            "straight out it passes `{name}` at {gap} +/- {uncertainty}, {room} asked for: place `{name}` more exactly"
        ),
        _ => format!("of {travel} straight out only {free} are free: `{name}` is in the way"),
    };
    let part = Part::length("travel room", verdict, Some(room), Some((gap, uncertainty)), said);
    Ok(Some(part.at(Some(stop.worst_place.on_fixed))))
}
