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
        if let (Some(one), Some(other)) = (one_side, other_side) {
            out.push(RoomRule {
                one,
                other,
                least: Length::from_mm(rule.least_mm),
                because: rule.because.clone(),
                span: rule.place.span(),
            });
        }
    }
    out
}

/// The joined pairs.
pub(super) fn joined(written: &[WrittenJoined], body_names: &Names<'_>) -> Vec<Joined> {
    let known = |pair: &&WrittenJoined| {
        let [one, other] = &pair.bodies;
        let (one, other) = (body_names.find(one), body_names.find(other));
        one.is_some() && other.is_some()
    };
    let made = |pair: &WrittenJoined| Joined {
        one: pair.bodies[0].text.clone(),
        other: pair.bodies[1].text.clone(),
        by: pair.by.clone(),
        span: pair.place.span(),
    };
    written.iter().filter(known).map(made).collect()
}
