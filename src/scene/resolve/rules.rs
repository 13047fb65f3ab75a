//! Room rules and joined pairs.

use super::names::Names;
use crate::scene::decode::{Named, WrittenJoined, WrittenRule};
use crate::scene::error::{Fault, Faults, nearest};
use crate::scene::{Body, Joined, RoomRule, RuleSide};
use crate::space::Length;

/// The room rules. A rule of the built-in library may name roles that nothing here plays; one of the
/// scene's own may not, for it would be a slip.
pub(super) fn rules(
    written: &[WrittenRule],
    body_names: &Names<'_>,
    bodies: &[Body],
    whole: bool,
    faults: &Faults,
) -> Vec<RoomRule> {
    let side = |name: &Named| -> Option<RuleSide> {
        if name.text == "any" {
            return Some(RuleSide::Any);
        }
        if body_names.is_given(&name.text) {
            return Some(RuleSide::Body(name.text.clone()));
        }
        let plays = |body: &Body| body.roles.contains(&name.text);
        let of_library = name.place.source.name().starts_with("house:");
        // When a body could not be read its roles are not known, and nothing can be said.
        if bodies.iter().any(plays) || of_library || !whole {
            return Some(RuleSide::Role(name.text.clone()));
        }
        let roles = bodies.iter().flat_map(|body| body.roles.iter().map(String::as_str));
        let names = bodies.iter().map(|body| body.name.as_str());
        let nearest = nearest(&name.text, names.chain(roles));
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
