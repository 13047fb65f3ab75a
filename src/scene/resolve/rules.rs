//! Room rules and joined pairs.

use super::names::Names;
use crate::scene::decode::{Named, WrittenJoined, WrittenRule};
use crate::scene::error::{Fault, Faults, nearest};
use crate::scene::{Joined, Role, RoomRule, RuleSide};
use crate::space::Length;

/// The room rules. A role that nothing plays yet is no fault, for a script may add a body that does;
/// a word that is neither body nor role is a slip.
pub(super) fn rules(
    written: &[WrittenRule],
    body_names: &Names<'_>,
    roles: &[Role],
    faults: &Faults,
) -> Vec<RoomRule> {
    let side = |name: &Named| -> Option<RuleSide> {
        if name.text == "any" {
            return Some(RuleSide::Any);
        }
        if body_names.is_given(&name.text) {
            return Some(RuleSide::Body(name.text.clone()));
        }
        if roles.contains(&name.text) {
            return Some(RuleSide::Role(name.text.clone()));
        }
        let nearest = nearest(&name.text, body_names.all().chain(roles.iter().map(String::as_str)));
        faults.add(name.place.clone(), Fault::RuleOfNothing { side: name.text.clone(), nearest });
        None
    };
    let mut out = Vec::new();
    for rule in written {
        let [one, other] = &rule.between;
        let (one_side, other_side) = (side(one), side(other));
        if let (Some(RuleSide::Body(first)), Some(RuleSide::Body(second))) = (&one_side, &other_side)
            && first == second
        {
            faults.add(other.place.clone(), Fault::SamePair { name: other.text.clone() });
        }
        if let (Some(one), Some(other), Some(least_mm), Some(because)) =
            (one_side, other_side, rule.least_mm, &rule.because)
        {
            out.push(RoomRule {
                one,
                other,
                least: Length::from_mm(least_mm),
                because: because.clone(),
                span: rule.place.span(),
            });
        }
    }
    out
}

/// The joined pairs.
pub(super) fn joined(written: &[WrittenJoined], body_names: &Names<'_>) -> Vec<Joined> {
    let made = |pair: &WrittenJoined| {
        let [one, other] = &pair.bodies;
        let (found, other_found) = (body_names.find(one), body_names.find(other));
        found?;
        other_found?;
        Some(Joined {
            one: one.text.clone(),
            other: other.text.clone(),
            by: pair.by.clone()?,
            joint: pair.joint,
            span: pair.place.span(),
        })
    };
    written.iter().filter_map(made).collect()
}
