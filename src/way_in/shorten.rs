//! From a way that was found to one that a person can follow: fewer, straighter steps, each proved anew.

use super::bay::{Asked, Bay};
use super::dice::Dice;
use super::mover::Step;
use super::proof::{Proof, prove};
use crate::space::Pose;

/// Spans that are tried at most.
const TRIES: usize = 400;

/// Replaces stretches of a way by single steps wherever that can be proved free. Poses are of the middle.
pub(super) fn shortened(
    bay: &Bay<'_>,
    way: &[Pose],
    look_mm: f64,
    dice: &mut Dice,
    asked: &mut Asked,
    stop: &dyn Fn() -> bool,
) -> Vec<Pose> {
    let mut way = way.to_vec();
    let free = |from: &Pose, to: &Pose, asked: &mut Asked| {
        let step = Step::new(from, to);
        let looks = (step.travel_mm(bay.mover.reach_mm) / look_mm).ceil().max(1.0) as u32;
        // Far apart first: what is not free is seen soon.
        let stride = (looks / 8).max(1);
        let seen = |look: u32, asked: &mut Asked| {
            bay.stopped(&step.at(f64::from(look) / f64::from(looks)), 0.0, asked).is_none()
        };
        let coarse = (1..looks).step_by(stride as usize).all(|look| seen(look, asked));
        if !coarse || !(1..looks).all(|look| seen(look, asked)) {
            return false;
        }
        prove(bay, &step, 0.0, 4000) == Proof::Free
    };
    // Longest first from either end, then anywhere.
    let mut idle = 0;
    for attempt in 0..TRIES {
        if way.len() < 3 || idle > 60 || stop() {
            break;
        }
        let count = way.len();
        let (from, to) = if attempt < 12 {
            let span = ((count - 1) >> (attempt / 2)).max(2);
            if attempt % 2 == 0 { (0, span) } else { (count - 1 - span, count - 1) }
        } else {
            let from = dice.below(count - 2);
            let most = (count - 1 - from).min(2 + dice.below(count));
            (from, from + most.max(2))
        };
        idle += 1;
        if to < count && to > from + 1 && free(&way[from], &way[to], asked) {
            way.drain(from + 1..to);
            idle = 0;
        }
    }
    // Neighbours last, in order, until nothing gives way.
    let mut at = 0;
    while at + 2 < way.len() && !stop() {
        if free(&way[at], &way[at + 2], asked) {
            way.remove(at + 1);
        } else {
            at += 1;
        }
    }
    way
}
