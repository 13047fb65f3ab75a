//! Looking for misread distances by standardised residuals.
//!
//! Residual and share: the other readings check a share r of each reading's error, so its residual
//! is r times the error, with standard deviation sigma times root r. The reading whose
//! standardised residual is greatest is the likeliest to be wrong, unless another is as likely.
//!
//! # Source
//! Baarda's data snooping, from memory; common in the adjustment of survey networks.

use nalgebra::DMatrix;

use super::adjust::Adjustment;

/// Standardised residual beyond which a reading is suspect: 0.1 % by chance, both sides.
pub(super) const SUSPECT: f64 = 3.29;
/// Two suspects whose squared standardised residuals differ by less cannot be told apart (1 % by chance).
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

/// What the residuals say.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Verdict {
    /// Nothing stands out.
    Clean,
    /// One component does, and no other would explain as much.
    One(usize),
    /// Several would explain it as well.
    Several(Vec<usize>),
}

/// The component most likely to be wrong.
pub(super) fn verdict(snooped: &[Snooped]) -> Verdict {
    let size = |k: usize| snooped[k].standardised.map_or(0.0, f64::abs);
    let mut order: Vec<usize> = (0..snooped.len()).filter(|k| snooped[*k].standardised.is_some()).collect();
    order.sort_by(|a, b| size(*b).total_cmp(&size(*a)).then(a.cmp(b)));
    let Some(first) = order.first().copied().filter(|k| size(*k) > SUSPECT) else {
        return Verdict::Clean;
    };
    let alike: Vec<usize> = order
        .into_iter()
        .take_while(|k| size(first).powi(2) - size(*k).powi(2) < TELLS_APART && size(*k) > SUSPECT)
        .collect();
    if alike.len() == 1 { Verdict::One(first) } else { Verdict::Several(alike) }
}
