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
    /// Free at every instant, with at least this to spare, mm.
    Free { spare_mm: f64 },
    /// Not free, or not provably, at a share of the step.
    Stopped { at: f64, by: Option<usize> },
}

/// Pieces shorter than this in travel are not split: what has so little to spare counts as stopped, mm.
const FINEST_MM: f64 = 2e-4;

/// Proves a step free, within a number of questions.
pub(super) fn prove(bay: &Bay<'_>, step: &Step, mut questions: u32) -> Proof {
    let travel_mm = step.travel_mm(bay.mover.reach_mm).max(1e-12);
    let mut open = vec![(0.0f64, 1.0f64)];
    let mut least_mm = f64::INFINITY;
    while let Some((from, to)) = open.pop() {
        let (middle, half) = ((from + to) / 2.0, (to - from) / 2.0);
        if questions == 0 {
            return Proof::Stopped { at: middle, by: None };
        }
        questions -= 1;
        let half_mm = half * travel_mm;
        // A little more than must be, so that less is left over.
        let (spare_mm, by) = bay.spare(&step.at(middle), half_mm * 1.05 + FINEST_MM);
        if spare_mm > half_mm {
            least_mm = least_mm.min(spare_mm - half_mm);
            continue;
        }
        if spare_mm < FINEST_MM {
            return Proof::Stopped { at: middle, by };
        }
        // Certified about the middle, but for a part of the spare that is kept.
        let sure = 0.9 * spare_mm / travel_mm;
        least_mm = least_mm.min(0.1 * spare_mm);
        open.push((from, middle - sure));
        open.push((middle + sure, to));
    }
    Proof::Free { spare_mm: least_mm }
}
