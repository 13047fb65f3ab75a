//! Looking for misread distances by standardised residuals.
//!
//! Residual and share: the other readings check a share r of each reading's error, so its residual
//! is r times the error, with standard deviation sigma times root r. The reading whose
//! standardised residual is beyond chance may be wrong. A gross error bends the whole solution, so
//! suspects are tried one by one: the network is solved without each, and the one without which
//! the rest agrees best is the culprit, unless another is as good.
//!
//! How far off is beyond chance depends on how many readings are looked at: the limit is such that
//! in at most [`FALSE_ALARM`] of sound networks any reading is named. Two bounds hold for the greatest
//! standardised residual w of n readings with f of them to spare, and the lower one counts: chance adds
//! up at most over the readings (Bonferroni), and no w squared exceeds the sum of squares (chi-square, f).
//!
//! # Source
//! Baarda's data snooping, from memory; common in the adjustment of survey networks.

use nalgebra::DMatrix;

use super::adjust::{Adjustment, Origin};
use crate::survey::uncertainty::chi_square_tail;

/// Share of sound networks in which a reading is named, at most.
const FALSE_ALARM: f64 = 0.04;
/// Standardised residual below which no reading is left out: 0.1 % by chance, both sides. To be named costs a look; to
/// leave out good readings would make the rest seem to agree better than they do.
pub(super) const LEFT_OUT: f64 = 3.29;
/// Two suspects cannot be told apart when leaving out one or the other changes the sum of squares by
/// less than this (1 % by chance).
const TELLS_APART: f64 = 6.63;
/// A reading checked to less than this share is as good as not checked.
const CHECKED: f64 = 1e-6;

/// One component of the adjustment under suspicion.
#[derive(Clone, Copy, Debug)]
pub(super) struct Snooped {
    /// Where it comes from.
    pub origin: Origin,
    /// Solved less read, over its standard deviation; `None` when nothing checks it.
    pub standardised: Option<f64>,
    /// Share of its error that shows in the residual, 0 to 1.
    pub share: f64,
}

/// Standardised residuals of all components.
pub(super) fn standardise(adjustment: &Adjustment, cofactor: &DMatrix<f64>) -> Vec<Snooped> {
    let evaluation = &adjustment.minimum.evaluation;
    let projected = &evaluation.jacobian * cofactor;
    (0..evaluation.residuals.len())
        .map(|k| {
            let share = 1.0 - projected.row(k).dot(&evaluation.jacobian.row(k));
            let origin = adjustment.origins[k];
            let checked = share > CHECKED && origin != Origin::Tape;
            let standardised = checked.then(|| evaluation.residuals[k] / share.sqrt());
            Snooped { origin, standardised, share: share.max(0.0) }
        })
        .collect()
}

/// Standardised residual beyond which a reading is named, with so many degrees of freedom.
pub(super) fn limit(snooped: &[Snooped], degrees_of_freedom: usize) -> f64 {
    let looked_at = snooped.iter().filter(|s| s.standardised.is_some()).count().max(1) as f64;
    let beyond = |squared: f64, freedom: f64| chi_square_tail(squared, freedom);
    // The least limit whose chance is small enough; both tails fall steadily.
    let solve = |freedom: f64, chance: f64| {
        let (mut low, mut high) = (0.0, 1e3);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if beyond(middle, freedom) > chance { low = middle } else { high = middle }
        }
        high
    };
    let by_reading = solve(1.0, FALSE_ALARM / looked_at);
    let by_all = solve(degrees_of_freedom.max(1) as f64, FALSE_ALARM);
    by_reading.min(by_all).sqrt()
}

/// Readings beyond chance, the greatest standardised residual first; coordinates known beforehand too.
pub(super) fn beyond_chance(snooped: &[Snooped], limit: f64) -> Vec<usize> {
    let size = |k: usize| snooped[k].standardised.map_or(0.0, f64::abs);
    let mut order: Vec<usize> = (0..snooped.len()).filter(|k| size(*k) > limit).collect();
    order.sort_by(|a, b| size(*b).total_cmp(&size(*a)).then(a.cmp(b)));
    order
}

/// Of trials, each the sum of squares and the degrees of freedom that remain without one component:
/// those that nothing tells from the best. A single one is the culprit.
pub(super) fn alike(trials: &[(f64, usize)]) -> Vec<usize> {
    let Some(best) = (0..trials.len()).min_by(|a, b| trials[*a].0.total_cmp(&trials[*b].0)) else {
        return Vec::new();
    };
    let (least, free) = trials[best];
    // Where further readings are wrong the rest still scatters, and so does what removing one gains.
    let scatter = if free > 0 { (least / free as f64).max(1.0) } else { 1.0 };
    let mut alike: Vec<usize> =
        (0..trials.len()).filter(|k| trials[*k].0 - least < TELLS_APART * scatter).collect();
    alike.sort_by(|a, b| trials[*a].0.total_cmp(&trials[*b].0).then(a.cmp(b)));
    alike
}
