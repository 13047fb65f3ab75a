//! Bodies declared fastened together: their gap is told, and must not be one.

use rayon::prelude::*;

use crate::clearance::{self, Gap};
use crate::scene::Scene;
use crate::space::Length;

use super::pair::Ready;
use super::uncertainty::{Side, expanded, variance_between};
use super::{Finding, Findings, JoinedPair, Place, Verdict};

/// Fastened faces further apart than this (beyond U) are not fastened: common practice, no source.
const GASKET: Length = Length::from_mm(2.0);

/// Overlaps of bodies with more pieces than this together are not measured.
const MOST_PIECES: usize = 10_000;

pub(super) fn check(scene: &Scene, ready: &[Ready<'_>], findings: &mut Findings) {
    let find = |name: &str| ready.iter().find(|ready| ready.body.name == name);
    let pairs: Vec<_> = scene
        .joined
        .iter()
        .filter_map(|joined| Some((joined, find(&joined.one)?, find(&joined.other)?)))
        .collect();
    let gaps: Vec<Option<Gap>> = pairs.par_iter().map(|(_, one, other)| gap_of(one, other)).collect();
    for ((joined, one, other), gap) in pairs.into_iter().zip(gaps) {
        findings.joined.push(JoinedPair {
            one: joined.one.clone(),
            other: joined.other.clone(),
            by: joined.by.clone(),
            gap: gap.map(|gap| gap.gap),
        });
        let Some(gap) = gap else { continue };
        let world = &one.body.world_from_body;
        let (on_first, on_second) = (world * gap.witness.on_fixed, world * gap.witness.on_moving);
        let normal = world * gap.witness.normal;
        let rest = crate::space::Pose::identity();
        let uncertainty = expanded(variance_between(
            &Side { placement: &one.body.placement, world_from_rest: rest, point: on_first },
            &Side { placement: &other.body.placement, world_from_rest: rest, point: on_second },
            &normal,
        ));
        if gap.gap - uncertainty > GASKET {
            findings.list.push(Finding {
                code: "joined",
                verdict: Verdict::Short,
                bodies: vec![joined.one.clone(), joined.other.clone()],
                required: None,
                actual: Some(gap.gap),
                at_rest: None,
                uncertainty: Some(uncertainty),
                place: Some(Place { on_first, on_second, pose: "at rest".to_owned(), values: Vec::new() }),
                rule: format!("joined by {}", joined.by),
                because: format!(
                    "fastened faces lie within {GASKET} of each other: common practice, no source"
                ),
                cure: None,
                message: format!(
                    "`{}` and `{}` are declared joined by {} but stand {} +/- {uncertainty} apart",
                    joined.one, joined.other, joined.by, gap.gap
                ),
                figures: Vec::new(),
                shown: Vec::new(),
            });
        }
    }
}

/// The gap at rest; `None` where a large scan or mesh overlaps the other, for how deep it does would take longer to
/// tell than all the rest of a check, and nobody asked.
fn gap_of(one: &Ready<'_>, other: &Ready<'_>) -> Option<Gap> {
    let first_from_second = one.body.world_from_body.inv_mul(&other.body.world_from_body);
    let pieces = one.shape.piece_count() + other.shape.piece_count();
    if pieces > MOST_PIECES && clearance::touches(&one.shape, &other.shape, &first_from_second) {
        return None;
    }
    Some(clearance::gap(&one.shape, &other.shape, &first_from_second))
}
