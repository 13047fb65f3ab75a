//! Proof that a step is free at every instant.
//!
//! At one pose the gap is known; no point of the body travels farther than a known length over a piece of the step; so
//! all of the piece is free for which the gap to spare is more than the travel. What is left on either side is asked
//! in the same way.

use super::bay::Bay;
use super::mover::Step;

/// What a proof came to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Proof {
    /// Free at every instant.
    Free,
    /// Not free, or not provably.
    Stopped,
}

/// Pieces shorter than this in travel are not split: what has so little to spare counts as stopped, mm.
const FINEST_MM: f64 = 2e-4;

/// Proves that a step keeps `margin_mm` beyond the room required, within a number of questions.
pub(super) fn prove(bay: &Bay<'_>, step: &Step, margin_mm: f64, mut questions: u32) -> Proof {
    let travel_mm = step.travel_mm(bay.mover.reach_mm).max(1e-12);
    let mut open = vec![(0.0f64, 1.0f64)];
    while let Some((from, to)) = open.pop() {
        let (middle, half) = ((from + to) / 2.0, (to - from) / 2.0);
        if questions == 0 {
            return Proof::Stopped;
        }
        questions -= 1;
        let half_mm = half * travel_mm;
        // A little more than must be, so that less is left over.
        let within_mm = margin_mm + half_mm * 1.05 + FINEST_MM;
        let spare_mm = bay.spare(&step.at(middle), within_mm) - margin_mm;
        if spare_mm > half_mm {
            continue;
        }
        if spare_mm < FINEST_MM {
            return Proof::Stopped;
        }
        // Certified about the middle; what is left on either side is asked anew.
        let sure = 0.98 * spare_mm / travel_mm;
        open.push((from, middle - sure));
        open.push((middle + sure, to));
    }
    Proof::Free
}
