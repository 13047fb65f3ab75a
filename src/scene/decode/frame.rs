//! Frames, and the pose keys that frames, bodies and parts of a union share.

use nalgebra::Point3;

use super::keys::{Key, KeyTable, may};
use super::table::Table;
use super::value::{angle, direction, point, text};
use super::{Cx, Named, WrittenDirection};
use crate::scene::read::Node;
use crate::space::Angle;

pub(crate) const ON: Key = may(
    "on",
    "name of a body or frame",
    "vehicle axes",
    "block-face",
    "What it stands on: `at`, `turn` and `axis` are then in that frame.",
);
pub(crate) const AT: Key = may("at", "point", "`[0, 0, 0]`", "[300, -520, 700]", "Where its origin is.");
pub(crate) const TURN: Key = may(
    "turn",
    "map of `x`, `y`, `z` angles",
    "none",
    "{z: 5 deg}",
    "Turn about x, then y, then z of the fixed axes of what it stands on.",
);
pub(crate) const AXIS: Key = may(
    "axis",
    "direction",
    "none",
    "rearward",
    "Instead of `turn`: where its z axis points, by the shortest turn.",
);
pub(crate) const CARRIED_BY: Key = may(
    "carried_by",
    "name of a carrier",
    "as what it stands on, else `chassis`",
    "engine",
    "What it moves with.",
);

/// A frame.
pub(crate) const FRAME: KeyTable = KeyTable {
    title: "a frame",
    intro: "A named place with axes. Frames and bodies share one set of names, for `on` takes either.",
    keys: &[ON, AT, TURN, AXIS, CARRIED_BY],
};

/// Angles of a turn.
pub(crate) const TURN_ANGLES: KeyTable = KeyTable {
    title: "a turn",
    intro: "Right-handed about the fixed axes: first x, then y, then z.",
    keys: &[
        may("x", "angle", "0", "90 deg", "About x, first."),
        may("y", "angle", "0", "-15 deg", "About y, second."),
        may("z", "angle", "0", "1/4 turn", "About z, last."),
    ],
};

/// How something is turned.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) enum Orientation {
    /// As what it stands on.
    #[default]
    Straight,
    /// By angles about x, then y, then z.
    Turned([Angle; 3]),
    /// z points there, by the shortest turn.
    Along(WrittenDirection),
}

/// A pose as written.
#[derive(Clone, Debug, Default)]
pub(crate) struct WrittenPose {
    /// Body or frame.
    pub on: Option<Named>,
    /// Origin.
    pub at: Point3<f64>,
    /// Turn.
    pub orientation: Orientation,
}

/// A frame as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenFrame {
    pub name: Named,
    pub pose: WrittenPose,
    pub carried_by: Option<Named>,
}

pub(super) fn frame(cx: &Cx<'_>, name: Named, node: &Node) -> Option<WrittenFrame> {
    let table = Table::open(cx, node, &FRAME)?;
    Some(WrittenFrame { name, pose: pose(cx, &table), carried_by: carried_by(cx, &table) })
}

pub(super) fn carried_by(cx: &Cx<'_>, table: &Table<'_>) -> Option<Named> {
    table.get("carried_by").and_then(|node| text(cx, node, "the carrier", "the name of a carrier"))
}

/// The pose keys of a table that has `on`.
pub(super) fn pose(cx: &Cx<'_>, table: &Table<'_>) -> WrittenPose {
    let on = table.get("on").and_then(|node| text(cx, node, "`on`", "the name of a body or frame"));
    WrittenPose { on, ..place(cx, table) }
}

/// The pose keys of a table that has no `on`.
pub(super) fn place(cx: &Cx<'_>, table: &Table<'_>) -> WrittenPose {
    table.exclude(cx, "turn", "axis", "keep `axis` to aim the z axis, or `turn` for angles");
    let at = table.get("at").and_then(|node| point(cx, node, "`at`")).unwrap_or_else(Point3::origin);
    let turned = table.get("turn").and_then(|node| turn(cx, node)).map(Orientation::Turned);
    let along = table.get("axis").and_then(|node| direction(cx, node, "`axis`")).map(Orientation::Along);
    WrittenPose { on: None, at, orientation: turned.or(along).unwrap_or_default() }
}

fn turn(cx: &Cx<'_>, node: &Node) -> Option<[Angle; 3]> {
    let table = Table::open(cx, node, &TURN_ANGLES)?;
    let about = |key: &'static str| match table.get(key) {
        Some(node) => angle(cx, node, &format!("the turn about {key}")),
        None => Some(Angle::ZERO),
    };
    let (x, y, z) = (about("x"), about("y"), about("z"));
    Some([x?, y?, z?])
}
