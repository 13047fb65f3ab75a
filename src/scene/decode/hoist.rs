//! What a body weighs, and the point it is lifted by.

use super::Cx;
use super::keys::{KeyTable, may, must};
use super::table::Table;
use super::value::{number, point, size};
use crate::scene::Hoist;
use crate::scene::error::Fault;
use crate::scene::read::Node;
use crate::space::Length;

/// A hoist point.
pub(crate) const HOIST: KeyTable = KeyTable {
    title: "a hoist point",
    intro: "Where a hook lifts a body that is too heavy for hands. It then must come in by a straight vertical lift, which is proved over its whole height.",
    keys: &[
        must("at", "point", "[0, 0, 95]", "The point, in the body's own frame."),
        may(
            "room",
            "length",
            "120 mm (common practice, no source)",
            "150",
            "How wide hook and chain need room above the point: a diameter.",
        ),
    ],
};

/// Room of a hook with its shackle and chain, mm: common practice, no source.
const USUAL_ROOM_MM: f64 = 120.0;

pub(super) fn hoist(cx: &Cx<'_>, node: &Node) -> Option<Hoist> {
    let table = Table::open(cx, node, &HOIST)?;
    let at = table.get("at").and_then(|node| point(cx, node, "the hoist point's `at`"));
    let room_mm = match table.get("room") {
        Some(node) => size(cx, node, "the hoist point's `room`"),
        None => Some(USUAL_ROOM_MM),
    };
    Some(Hoist { at: at?, room: Length::from_mm(room_mm?) })
}

/// A mass, kg: more than nothing, and no more than an engine with its gearbox.
pub(super) fn mass(cx: &Cx<'_>, node: &Node) -> Option<f64> {
    let kg = number(cx, node, "`mass`")?;
    if kg > 0.0 && kg <= 5000.0 {
        return Some(kg);
    }
    let fault = Fault::Range {
        what: "`mass`".into(),
        found: kg.to_string(),
        limit: "it must be above 0 and at most 5000 kg".into(),
        remedy: "write what the part weighs in kg, such as `mass: 27.5`",
    };
    cx.add(node.real(), fault);
    None
}
