//! Corners moved so that each bend is one of a set: ready-made bends that are not cut.

use nalgebra::{DMatrix, DVector};

use super::RouteAsk;
use super::chain::Chain;

/// Within this an angle is the one that is wanted, rad.
const SAME_RAD: f64 = 1e-10;
/// No variable may move further than this to get there, mm.
const MOST_MM: f64 = 150.0;

/// The nearest chain whose bends all have angles of the set: each goes to the nearest angle, by the least move of
/// the corners (Gauss-Newton on as many equations as bends). `None` where that does not settle.
pub(super) fn snapped(chain: &Chain, ask: &RouteAsk<'_>, angles: &[f64]) -> Option<Chain> {
    let here = chain.layout().angles;
    let wanted: Vec<f64> = here
        .iter()
        .map(|angle| angles.iter().copied().min_by(|a, b| (a - angle).abs().total_cmp(&(b - angle).abs())))
        .collect::<Option<_>>()?;
    let start = chain.variables();
    let mut variables = start.clone();
    for _ in 0..30 {
        let now = chain.with(ask, &variables);
        let off: Vec<f64> = now.layout().angles.iter().zip(&wanted).map(|(a, w)| w - a).collect();
        if off.iter().all(|off| off.abs() < SAME_RAD) {
            return Some(now);
        }
        if start.is_empty() {
            return None;
        }
        let small = 1e-4;
        let mut slopes = DMatrix::zeros(off.len(), variables.len());
        for column in 0..variables.len() {
            let mut ahead = variables.clone();
            let mut behind = variables.clone();
            ahead[column] += small;
            behind[column] -= small;
            let (ahead, behind) = (chain.with(ask, &ahead).layout(), chain.with(ask, &behind).layout());
            for row in 0..off.len() {
                slopes[(row, column)] = (ahead.angles[row] - behind.angles[row]) / (2.0 * small);
            }
        }
        let change = slopes.svd(true, true).solve(&DVector::from_vec(off), 1e-9).ok()?;
        let most = change.amax();
        let scale = if most > 30.0 { 30.0 / most } else { 1.0 };
        for (variable, change) in variables.iter_mut().zip(change.iter()) {
            *variable += scale * change;
        }
        if variables.iter().zip(&start).any(|(v, s)| !v.is_finite() || (v - s).abs() > MOST_MM) {
            return None;
        }
    }
    None
}
