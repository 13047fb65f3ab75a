//! Benders and ready-made bends.

use super::keys::{KeyTable, may, must};
use super::table::{Table, told};
use super::value::{angle, extent, list, number, size, sweep, text};
use super::{Cx, Named};
use crate::scene::error::Fault;
use crate::scene::read::Node;
use crate::tube::{Bender, Die, Springback, StockBend};

/// A bender.
pub(crate) const BENDER: KeyTable = KeyTable {
    title: "a bender",
    intro: "What bends tubes, and by how much it must overbend. Plain numbers are in outside diameters of the tube. A scene's own bender replaces one of the library of the same name.",
    keys: &[
        must(
            "dies",
            "list of dies",
            "[{diameter: 63.5, bend_radius: 95.25}]",
            "Its dies; an empty list for one that bends to any radius.",
        ),
        must("least_radius", "number", "1", "Least centreline radius, in diameters."),
        must("tight_radius", "number", "1.5", "Radius under which a bend needs care, in diameters."),
        must("clamp", "number", "1.5", "Straight between two bends, in diameters."),
        must("first_straight", "number", "2", "Straight before the first bend, in diameters."),
        must("last_straight", "number", "1.5", "Straight after the last bend, in diameters."),
        must("most_wall", "length", "3.2", "Thickest wall."),
        must("most_angle", "angle", "180 deg", "Greatest angle of one bend."),
        must(
            "most_thinning",
            "share",
            "0.34",
            "Share of the wall that may be lost at the outside of a bend.",
        ),
        must(
            "springback",
            "list of springbacks",
            "[{share: 0.02, add: 0.5 deg}]",
            "By material; the first that fits counts.",
        ),
        must("stretch", "share", "0.02", "Share of a bend's length that the tube gains."),
        must("source", "text", "tried on our own bender", "Where the figures come from."),
    ],
};

/// A die.
pub(crate) const DIE: KeyTable = KeyTable {
    title: "a die",
    intro: "One tube, one radius.",
    keys: &[
        must("diameter", "length", "63.5", "Outside diameter of the tube."),
        must("bend_radius", "length", "95.25", "Radius of the centreline."),
    ],
};

/// A springback.
pub(crate) const SPRINGBACK: KeyTable = KeyTable {
    title: "a springback",
    intro: "How far a bend opens when it is let go: 0.02 and 0.5 deg mean that 90 deg must be bent to 92.3.",
    keys: &[
        may("material", "name of a material", "all others", "stainless-304", "The material it was tried on."),
        must("share", "share", "0.02", "Share of the angle."),
        may("add", "angle", "0 deg", "0.5 deg", "Besides that."),
    ],
};

/// A ready-made bend.
pub(crate) const STOCK_BEND: KeyTable = KeyTable {
    title: "a stock bend",
    intro: "A mandrel bend bought ready made, with straight legs.",
    keys: &[
        must("diameter", "length", "63.5", "Outside diameter."),
        must("wall", "length", "1.65", "Wall."),
        must("bend_radius", "length", "95.25", "Radius of the centreline."),
        must("angle", "angle", "90 deg", "How far it bends."),
        must("leg", "length", "100", "Straight on either side."),
        must("source", "text", "measured", "Where the figures come from."),
    ],
};

/// A plain number from 0 to 1.
fn share(cx: &Cx<'_>, node: &Node, what: &str) -> Option<f64> {
    let value = node.scalar().and_then(|text| text.parse::<f64>().ok());
    match value.filter(|value| (0.0..=1.0).contains(value)) {
        Some(value) => Some(value),
        None => {
            let fault = Fault::WrongKind {
                what: what.to_owned(),
                found: told(node.real()),
                expected: "a number from 0 to 1",
                example: "a share such as `0.02`",
            };
            cx.add(node.real(), fault);
            None
        }
    }
}

pub(super) fn bender(cx: &Cx<'_>, name: Named, node: &Node) -> Option<Bender> {
    let table = Table::open(cx, node, &BENDER)?;
    let whole = |key: &'static str| table.get(key).and_then(|node| number(cx, node, &format!("`{key}`")));
    let part = |key: &'static str| table.get(key).and_then(|node| share(cx, node, &format!("`{key}`")));
    let all = |key: &'static str, example| {
        table.get(key).and_then(|node| list(cx, node, &format!("`{key}`"), example))
    };
    let die_nodes = all("dies", "`[{diameter: 63.5, bend_radius: 95.25}]`");
    let dies = die_nodes.map(|nodes| nodes.iter().filter_map(|node| die(cx, node)).collect());
    let back_nodes = all("springback", "`[{share: 0.02, add: 0.5 deg}]`");
    let springback = back_nodes.map(|nodes| nodes.iter().filter_map(|node| springback(cx, node)).collect());
    let (least, tight, clamp) = (whole("least_radius"), whole("tight_radius"), whole("clamp"));
    let (first, last) = (whole("first_straight"), whole("last_straight"));
    let wall = table.get("most_wall").and_then(|node| size(cx, node, "`most_wall`"));
    let most_angle = table.get("most_angle").and_then(|node| sweep(cx, node, "`most_angle`"));
    let (thinning, stretch) = (part("most_thinning"), part("stretch"));
    let source = table.get("source").and_then(|node| text(cx, node, "the source", "`source: measured`"));
    Some(Bender {
        name: name.text,
        dies: dies?,
        least_radius_od: least?,
        tight_radius_od: tight?,
        clamp_od: clamp?,
        first_od: first?,
        last_od: last?,
        most_wall_mm: wall?,
        most_angle_rad: most_angle?.rad(),
        most_thinning: thinning?,
        springback: springback?,
        stretch: stretch?,
        source: source?.text,
    })
}

fn die(cx: &Cx<'_>, node: &Node) -> Option<Die> {
    let table = Table::open(cx, node, &DIE)?;
    let outside = table.get("diameter").and_then(|node| size(cx, node, "the diameter"));
    let radius = table.get("bend_radius").and_then(|node| size(cx, node, "the bend radius"));
    Some(Die { outside_mm: outside?, radius_mm: radius? })
}

fn springback(cx: &Cx<'_>, node: &Node) -> Option<Springback> {
    let table = Table::open(cx, node, &SPRINGBACK)?;
    let share = table.get("share").and_then(|node| share(cx, node, "`share`"));
    let material = match table.get("material") {
        Some(node) => Some(text(cx, node, "the material", "`material: stainless-304`")?.text),
        None => None,
    };
    let add_rad = match table.get("add") {
        Some(node) => angle(cx, node, "`add`")?.rad(),
        None => 0.0,
    };
    Some(Springback { material, share: share?, add_rad })
}

pub(super) fn stock_bend(cx: &Cx<'_>, name: Named, node: &Node) -> Option<StockBend> {
    let table = Table::open(cx, node, &STOCK_BEND)?;
    let sized = |key: &'static str| table.get(key).and_then(|node| size(cx, node, &format!("`{key}`")));
    let (outside, wall, radius) = (sized("diameter"), sized("wall"), sized("bend_radius"));
    let angle = table.get("angle").and_then(|node| sweep(cx, node, "the angle"));
    let leg = table.get("leg").and_then(|node| extent(cx, node, "the leg"));
    let source = table.get("source").and_then(|node| text(cx, node, "the source", "`source: measured`"));
    Some(StockBend {
        name: name.text,
        outside_mm: outside?,
        wall_mm: wall?,
        radius_mm: radius?,
        angle_rad: angle?.rad(),
        leg_mm: leg?,
        source: source?.text,
    })
}
