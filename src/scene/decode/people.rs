//! Standing places, reaches, openings.

use nalgebra::Point3;

use super::document::Written;
use super::keys::{KeyTable, may, must};
use super::table::{Table, named, told};
use super::value::{choice, point, size, sweep, text};
use super::{Cx, Named};
use crate::scene::error::Fault;
use crate::scene::read::Node;
use crate::space::Angle;

/// The `people` map.
pub(crate) const PEOPLE: KeyTable = KeyTable {
    title: "`people`",
    intro: "Where people stand or kneel, and how far an arm reaches.",
    keys: &[
        may(
            "standing",
            "map of standing places",
            "none",
            "{front: {shoulder: [0, 0, 1300], reach: women-p5-grip}}",
            "Places round the vehicle.",
        ),
        may(
            "reaches",
            "map of reaches",
            "the library's",
            "{own-arm: {length: 640, source: measured}}",
            "Named arm lengths, beside those of the library.",
        ),
        may(
            "wear",
            "`bare` or `gloves`",
            "`bare`",
            "gloves",
            "What hands wear: which openings are asked for where a service point names none.",
        ),
        may(
            "hood",
            "angle",
            "as far as its hinge goes",
            "55 deg",
            "How far hinges stand open in service; a hood that is shut serves nobody.",
        ),
    ],
};

/// A standing place.
pub(crate) const STANDING: KeyTable = KeyTable {
    title: "a standing place",
    intro: "A shoulder and the length of its arm.",
    keys: &[
        must("shoulder", "point", "[500, -1050, 1350]", "Where the shoulder is, vehicle axes."),
        must(
            "reach",
            "length or name of a reach",
            "women-p5-grip",
            "From the shoulder to the middle of the grip.",
        ),
        may(
            "eye",
            "point",
            "200 mm above the shoulder (from memory: Pheasant, standing eye height less shoulder height)",
            "[500, -1000, 1550]",
            "Where the eye is.",
        ),
    ],
};

/// A reach.
pub(crate) const REACH: KeyTable = KeyTable {
    title: "a reach",
    intro: "A named arm length.",
    keys: &[
        must("length", "length", "640", "From the shoulder to the middle of the grip."),
        must("source", "text", "measured", "Where the figure comes from."),
    ],
};

/// An opening.
pub(crate) const OPENING: KeyTable = KeyTable {
    title: "an opening",
    intro: "A named size of the round opening that something passes through.",
    keys: &[
        must("diameter", "length", "125", "Least diameter of the opening."),
        must("source", "text", "measured", "Where the figure comes from."),
    ],
};

/// A standing place as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenStanding {
    pub name: Named,
    pub shoulder: Option<Point3<f64>>,
    pub eye: Option<Point3<f64>>,
    pub reach: ReachSize,
}

/// An arm length as written.
#[derive(Clone, Debug)]
pub(crate) enum ReachSize {
    /// A length, mm.
    Length(f64),
    /// The name of a reach.
    Named(Named),
}

/// A reach as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenReach {
    pub name: Named,
    pub length_mm: f64,
}

/// An opening as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenOpening {
    pub name: Named,
    pub diameter_mm: f64,
    pub source: String,
}

pub(super) fn people(cx: &Cx<'_>, node: &Node, out: &mut Written) {
    let Some(table) = Table::open(cx, node, &PEOPLE) else { return };
    if let Some(node) = table.get("standing") {
        for (name, node) in named(cx, node, "standing") {
            out.declared.push(("standing", name.clone()));
            out.standing.extend(standing(cx, name, node));
        }
    }
    if let Some(node) = table.get("reaches") {
        for (name, node) in named(cx, node, "reaches") {
            out.declared.push(("reaches", name.clone()));
            out.reaches.extend(reach(cx, name, node));
        }
    }
    if let Some(node) = table.get("wear") {
        out.gloved = choice(cx, node, "what hands wear", &["bare", "gloves"]).map(|word| word == "gloves");
    }
    if let Some(node) = table.get("hood") {
        out.hood_open = sweep(cx, node, "`hood`").filter(|open| hood_is_open(cx, node, open));
    }
}

fn standing(cx: &Cx<'_>, name: Named, node: &Node) -> Option<WrittenStanding> {
    let table = Table::open(cx, node, &STANDING)?;
    let shoulder = table.get("shoulder").and_then(|node| point(cx, node, "`shoulder`"));
    let reach = table.get("reach").and_then(|node| match node.scalar() {
        Some(word) if starts_like_a_name(word) => {
            Some(ReachSize::Named(Named { text: word.to_owned(), place: node.real().place.clone() }))
        }
        _ => size(cx, node, "the reach").map(ReachSize::Length),
    });
    let eye = match table.get("eye") {
        Some(node) => Some(point(cx, node, "`eye`")?),
        None => None,
    };
    Some(WrittenStanding { name, shoulder, eye, reach: reach? })
}

/// Under this a hood counts as shut by mistake.
const LEAST_OPEN_DEG: f64 = 10.0;

fn hood_is_open(cx: &Cx<'_>, node: &Node, open: &Angle) -> bool {
    if open.deg() >= LEAST_OPEN_DEG {
        return true;
    }
    let fault = Fault::Range {
        what: "`hood`".into(),
        found: told(node.real()),
        limit: "a hood that is shut lets no hand in; service points are tried with it open by 10 deg or more"
            .into(),
        remedy: "write how far it stands open, such as `hood: 55 deg`, or leave the key out for all the way",
    };
    cx.add(node.real(), fault);
    false
}

/// Whether a value is a name rather than a figure with a unit.
pub(super) fn starts_like_a_name(word: &str) -> bool {
    word.starts_with(|c: char| c.is_alphabetic()) && !matches!(word, "inf" | "nan" | "infinity")
}

fn reach(cx: &Cx<'_>, name: Named, node: &Node) -> Option<WrittenReach> {
    let table = Table::open(cx, node, &REACH)?;
    let length = table.get("length").and_then(|node| size(cx, node, "the reach"));
    let source = table.get("source").and_then(|node| text(cx, node, "the source", "`source: measured`"));
    source?;
    Some(WrittenReach { name, length_mm: length? })
}

pub(super) fn opening(cx: &Cx<'_>, name: Named, node: &Node) -> Option<WrittenOpening> {
    let table = Table::open(cx, node, &OPENING)?;
    let diameter = table.get("diameter").and_then(|node| size(cx, node, "the diameter"));
    let source = table.get("source").and_then(|node| text(cx, node, "the source", "`source: measured`"));
    Some(WrittenOpening { name, diameter_mm: diameter?, source: source?.text })
}
