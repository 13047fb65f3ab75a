//! The smallest straight move found that cures a pair, and whether it leaves the body clear all round.

use nalgebra::Vector3;

use crate::scene::Body;
use crate::space::{Direction, Length, Pose};

use super::pair::{Examined, Pair, Ready};
use super::rules::asked_of;
use super::{Cure, Verdict};

/// A move longer than this is a different place, not a cure.
const LONGEST_MM: f64 = 150.0;
/// Moves are rounded up to what a shop can set.
const STEP_MM: f64 = 0.5;
/// Steps of the search along one direction.
const TRIES: usize = 12;

/// Seeks the shortest straight move of the pair's movable body (a candidate before other added bodies;
/// never a kept one) that makes the pair clear of `least` by its uncertainty: along the worst place's
/// normal and along the six named directions. `None` when nothing may be moved or no move under 150 mm
/// cures.
pub(super) fn seek(pair: &Pair<'_>, least: Length, ready: &[Ready<'_>]) -> Option<Cure> {
    let (first, second) = (pair.first.body, pair.second.body);
    let movable = |body: &Body| (!body.kept).then_some(u8::from(body.candidate));
    // With equal claims the second is moved: it was added later.
    let (body, is_first) = match (movable(first), movable(second)) {
        (None, None) => return None,
        (one, other) if one > other => (first, true),
        _ => (second, false),
    };
    let push = pair.gap().normal.into_inner() * if is_first { -1.0 } else { 1.0 };
    let mut best: Option<Vector3<f64>> = None;
    for along in std::iter::once(push).chain(Direction::ALL.map(|named| named.unit().into_inner())) {
        let longest = best.map_or(LONGEST_MM, |shift| shift.norm() - STEP_MM);
        if along.dot(&push) > 0.05
            && let Some(travel) = travel_to_clear(pair, least, is_first, &along, longest)
        {
            best = Some(along * travel);
        }
    }
    let shift = best?;
    let moved = moved_body(body, &shift);
    let all_clear = ready.iter().all(|other| other.body.name == body.name || clear_of(pair, &moved, other));
    Some(Cure { body: body.name.clone(), shift, proved: all_clear })
}

/// The least travel along a direction, rounded up, at which the pair is clear; by stepping forward by what
/// is still missing (which no shorter step could make up, since a gap grows by at most the travel).
fn travel_to_clear(
    pair: &Pair<'_>,
    least: Length,
    is_first: bool,
    along: &Vector3<f64>,
    longest: f64,
) -> Option<f64> {
    let mut travel = 0.0;
    for _ in 0..TRIES {
        let examined = with_moved(pair, is_first, &(along * travel), |moved| moved.examine(least));
        let missing = match examined {
            Examined::Clear => return Some(travel),
            Examined::Near(gap) if gap.verdict(least) == Verdict::Clear => return Some(travel),
            Examined::Near(gap) => (least + gap.uncertainty - gap.lower).mm(),
        };
        travel += (missing / STEP_MM).ceil().max(1.0) * STEP_MM;
        if travel > longest {
            return None;
        }
    }
    None
}

fn moved_body(body: &Body, shift: &Vector3<f64>) -> Body {
    let mut moved = body.clone();
    moved.world_from_body = Pose::translation(shift.x, shift.y, shift.z) * body.world_from_body;
    moved.placement.about += shift;
    moved
}

fn ready_as<'b>(body: &'b Body, like: &Ready<'_>, shift: &Vector3<f64>) -> Ready<'b> {
    Ready {
        growth: like.growth,
        off: like.off,
        // A hose that is moved as a whole gives way as before.
        sway: like.sway.clone(),
        body,
        shape: like.shape.clone(),
        at_rest: like.at_rest.moved(&Pose::translation(shift.x, shift.y, shift.z)),
        // However the carrier turns, the shift stays as long.
        swept: like.swept.grown(shift.norm()),
        worst_standard_mm: like.worst_standard_mm,
    }
}

fn with_moved<T>(pair: &Pair<'_>, is_first: bool, shift: &Vector3<f64>, ask: impl Fn(&Pair<'_>) -> T) -> T {
    let like = if is_first { pair.first } else { pair.second };
    let body = moved_body(like.body, shift);
    let moved = ready_as(&body, like, shift);
    let (first, second) = if is_first { (&moved, pair.second) } else { (pair.first, &moved) };
    ask(&Pair { scene: pair.scene, first, second, poses: pair.poses, within: None })
}

/// Whether the moved body is clear of another by the rule that governs the two.
fn clear_of(pair: &Pair<'_>, moved: &Body, other: &Ready<'_>) -> bool {
    let joined = pair.scene.joined.iter().any(|joined| {
        let names = [&joined.one, &joined.other];
        names.contains(&&moved.name) && names.contains(&&other.body.name)
    });
    if joined {
        // Moving one of two fastened bodies alone would part or crush them.
        return false;
    }
    let like = if pair.first.body.name == moved.name { pair.first } else { pair.second };
    let shift = moved.world_from_body.translation.vector - like.body.world_from_body.translation.vector;
    let ready = ready_as(moved, like, &shift);
    let asked = asked_of(pair.scene, moved, other.body);
    let question = Pair { scene: pair.scene, first: other, second: &ready, poses: pair.poses, within: None };
    match question.examine(asked.least) {
        Examined::Clear => true,
        Examined::Near(gap) => gap.verdict(asked.least) == Verdict::Clear,
    }
}
