//! The straight way out of a body.

use crate::access::{AccessError, LiftOutAsk, lift_out};
use crate::check::pair::{GAP_TOLERANCE, Ready};
use crate::check::uncertainty::COVERAGE;
use crate::check::{Verdict, decide};
use crate::scene::{Scene, ServiceKind, ServicePoint};
use crate::space::Length;

use super::bay::Bay;
use super::point::Part;

/// Judges a lift-out, proved over its whole travel; nothing for other kinds.
pub(super) fn judge(
    scene: &Scene,
    ready: &[Ready<'_>],
    bay: &Bay,
    point: &ServicePoint,
) -> Result<Option<Part>, AccessError> {
    let ServiceKind::LiftOut { travel, room } = point.kind else { return Ok(None) };
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
    let ask = LiftOutAsk {
        bodies: &bay.bodies,
        body,
        without: &without,
        seats: &seats,
        along: point.along,
        travel_mm: travel.mm(),
        room_mm: room.mm(),
        tolerance_mm: GAP_TOLERANCE.mm(),
    };
    let lift = lift_out(&ask)?;
    let uncertainty_with = |other: usize| {
        let share = |at: usize| ready.get(at).map_or(0.0, |ready| ready.worst_standard_mm);
        Length::from_mm(COVERAGE * share(body).hypot(share(other)))
    };
    let Some(stop) = lift.stops.first() else {
        // No body is named by a lift that is free; what is clear by U of the whole scene is clear.
        let worst = ready.iter().map(|ready| ready.worst_standard_mm).fold(0.0, f64::max);
        let uncertainty = Length::from_mm(COVERAGE * ready[body].worst_standard_mm.hypot(worst));
        let least = Length::from_mm(lift.least_gap_mm.min(1e6));
        return Ok(Some(Part {
            verdict: decide(least, least, uncertainty, room),
            required: Some(room),
            actual: Some(least),
            uncertainty: Some(uncertainty),
            place: None,
            said: format!("it comes straight out over {travel} with {room} all round"),
        }));
    };
    let uncertainty = uncertainty_with(stop.body);
    let (lower, upper) = (Length::from_mm(stop.gap_lower_mm), Length::from_mm(stop.gap_upper_mm));
    let verdict = match decide(lower, upper, uncertainty, room) {
        Verdict::Touching => Verdict::Short,
        verdict => verdict,
    };
    let name = bay.bodies.list().get(stop.body).map_or("", |body| body.name.as_str());
    let free = Length::from_mm(stop.free_mm);
    Ok(Some(Part {
        verdict,
        required: Some(room),
        actual: Some(upper),
        uncertainty: Some(uncertainty),
        place: None,
        said: format!("of {travel} straight out only {free} are free: `{name}` is in the way"),
    }))
}
