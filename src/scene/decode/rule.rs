//! Room rules, joined pairs, roles.

use super::keys::{KeyTable, may, must};
use super::table::{Table, told};
use super::value::{choice, differ, extent, text, words};
use super::{Cx, Named};
use crate::scene::error::Fault;
use crate::scene::read::{Node, NodeKind, Place};
use crate::tube::JointKind;

/// A room rule.
pub(crate) const RULE: KeyTable = KeyTable {
    title: "a room rule",
    intro: "Least gap between two kinds of body, wrap, coating and sheath on, over all movements.",
    keys: &[
        must("between", "two names", "[hot, hose]", "Each the name of a body, else a role, else `any`."),
        must("least", "length", "25 mm", "Least gap."),
        must("because", "text", "a hose cooks beside a hot pipe", "Why; the report repeats it."),
    ],
};

/// A joined pair.
pub(crate) const JOINED: KeyTable = KeyTable {
    title: "a joined pair",
    intro: "Two bodies that touch because they are fastened together. No room rule is asked of them; the report names them.",
    keys: &[
        must("bodies", "two names of bodies", "[second-turbo, turbo-bracket]", "The pair."),
        must("by", "text", "four M10 studs", "What fastens them."),
        may(
            "joint",
            "`weld`, `v-band`, `slip`, `flange`, `coupler` or `bellows`",
            "not said",
            "v-band",
            "The kind of joint at a tube's end: what it takes up is asked where the two ride on different carriers.",
        ),
    ],
};

/// A rule as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenRule {
    pub between: [Named; 2],
    pub least_mm: Option<f64>,
    pub because: Option<String>,
    pub place: Place,
}

/// A joined pair as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenJoined {
    pub bodies: [Named; 2],
    pub by: Option<String>,
    pub joint: Option<JointKind>,
    pub place: Place,
}

/// A role as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenRole {
    pub name: Named,
}

fn pair(cx: &Cx<'_>, node: &Node, what: &str, example: &'static str) -> Option<[Named; 2]> {
    let real = node.real();
    let NodeKind::List(items, _) = &real.kind else {
        let found = told(real);
        cx.add(real, Fault::WrongKind { what: what.to_owned(), found, expected: "a list of two", example });
        return None;
    };
    if items.len() != 2 {
        let fault =
            Fault::Count { what: what.to_owned(), found: items.len(), expected: "two names", example };
        cx.add(real, fault);
        return None;
    }
    words(cx, real, what, example).try_into().ok()
}

pub(super) fn rule(cx: &Cx<'_>, node: &Node) -> Option<WrittenRule> {
    let table = Table::open(cx, node, &RULE)?;
    let between = table.get("between").and_then(|node| pair(cx, node, "`between`", "`[hot, hose]`"));
    let least = table.get("least").and_then(|node| extent(cx, node, "the least gap"));
    let because = table.get("because").and_then(|node| text(cx, node, "`because`", "the reason"));
    Some(WrittenRule {
        between: between?,
        least_mm: least,
        because: because.map(|text| text.text),
        place: node.real().place.clone(),
    })
}

pub(super) fn joined(cx: &Cx<'_>, node: &Node) -> Option<WrittenJoined> {
    let table = Table::open(cx, node, &JOINED)?;
    let bodies = table.get("bodies").and_then(|node| pair(cx, node, "`bodies`", "`[turbo, bracket]`"));
    if let Some([one, other]) = &bodies {
        differ(cx, one, other);
    }
    let by = table.get("by").and_then(|node| text(cx, node, "`by`", "what fastens them"));
    let joint = table.get("joint").and_then(|node| joint(cx, node));
    let place = node.real().place.clone();
    Some(WrittenJoined { bodies: bodies?, by: by.map(|text| text.text), joint, place })
}

fn joint(cx: &Cx<'_>, node: &Node) -> Option<JointKind> {
    let words = JointKind::ALL.map(JointKind::word);
    JointKind::from_word(&choice(cx, node, "a kind of joint", &words)?)
}

pub(super) fn role(cx: &Cx<'_>, name: Named, node: &Node) -> Option<WrittenRole> {
    text(cx, node, "the meaning of a role", "`airbox: intake plastic`")?;
    Some(WrittenRole { name })
}
