//! Looking for misread distances by standardised residuals.
//!
//! Residual and share: the other readings check a share r of each reading's error, so its residual
//! is r times the error, with standard deviation sigma times root r. The reading whose
//! standardised residual is beyond chance may be wrong. A gross error bends the whole solution, so
//! suspects are tried one by one: the network is solved without each, and the one without which
//! the rest agrees best is the culprit, unless another is as good.
//!
//! # Source
//! Baarda's data snooping, from memory; common in the adjustment of survey networks.

use nalgebra::DMatrix;

use super::adjust::Adjustment;

/// Standardised residual beyond which a reading is suspect: 0.1 % by chance, both sides.
pub(super) const SUSPECT: f64 = 3.29;
/// Two suspects cannot be told apart when leaving out one or the other changes the sum of squares by
/// less than this (1 % by chance).
const TELLS_APART: f64 = 6.63;
/// A reading checked to less than this share is as good as not checked.
const CHECKED: f64 = 1e-6;

/// One component of the adjustment under suspicion.
#[derive(Clone, Copy, Debug)]
pub(super) struct Snooped {
    /// The reading; `None` for a coordinate known beforehand.
    pub reading: Option<usize>,
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
            let standardised = (share > CHECKED).then(|| evaluation.residuals[k] / share.sqrt());
            Snooped { reading: adjustment.readings[k], standardised, share: share.max(0.0) }
        })
        .collect()
}

/// Readings beyond chance, the greatest standardised residual first; coordinates known beforehand too.
pub(super) fn beyond_chance(snooped: &[Snooped]) -> Vec<usize> {
    let size = |k: usize| snooped[k].standardised.map_or(0.0, f64::abs);
    let mut order: Vec<usize> = (0..snooped.len()).filter(|k| size(*k) > SUSPECT).collect();
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
