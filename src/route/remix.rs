//! Other radii at single bends: where a bender has several dies, or a set several stock bends, one tube may use more
//! than one of them.

use super::RouteAsk;
use super::bending::Bending;
use super::chain::Chain;
use super::field::Field;
use super::refine::{Aim, Worth, refine, value, worth};

/// A mix must gain this much in what the aim is after, mm of room, or it is not worth a second die.
const GAIN_MM: f64 = 0.1;

/// A chain with another radius at one bend or more, refined, where that is worth more; `None` where none is.
///
/// One bend after another takes the radius that is worth most with the corners where they are, as long as that gains;
/// then the corners are moved. Cost: bends x bends x radii looks at the whole line, and one refinement.
pub(super) fn remixed(
    chain: &Chain,
    found: &Worth,
    ask: &RouteAsk<'_>,
    bending: &Bending,
    field: &Field,
    aim: &Aim,
) -> Option<(Chain, Worth)> {
    if bending.radii_mm.len() < 2 || chain.corners.is_empty() {
        return None;
    }
    let (mut best, mut known) = (chain.clone(), value(found, aim));
    for _ in 0..chain.corners.len() {
        let mut better: Option<(f64, Chain)> = None;
        for bend in 0..best.radii_mm.len() {
            for radius_mm in &bending.radii_mm {
                if (best.radii_mm[bend] - radius_mm).abs() < 0.1 {
                    continue;
                }
                let mut mixed = best.clone();
                mixed.radii_mm[bend] = *radius_mm;
                let gained = value(&worth(&mixed, bending, field), aim);
                if gained > better.as_ref().map_or(known, |(most, _)| *most) + GAIN_MM {
                    better = Some((gained, mixed));
                }
            }
        }
        let Some((gained, mixed)) = better else { break };
        (best, known) = (mixed, gained);
    }
    (best.radii_mm != chain.radii_mm).then(|| refine(&best, ask, bending, field, aim))
}
