//! Service points.

use nalgebra::Point3;

use super::keys::{Key, KeyTable, may, must, one_of};
use super::people::starts_like_a_name;
use super::table::Table;
use super::value::{direction, extent, point, size, text, words};
use super::{Cx, Named, WrittenDirection};
use crate::scene::ServiceKind;
use crate::scene::read::Node;
use crate::space::Length;

const BODY: Key = must("body", "name of a body", "dipstick", "The body served; it is no obstacle to itself.");
const ON: Key = may(
    "on",
    "name of a body or frame",
    "vehicle axes",
    "filler-neck",
    "What `at`, and an `along` that is no word of the vehicle, are measured in.",
);

/// A service point.
pub(crate) const SERVICE: KeyTable = KeyTable {
    title: "a service point",
    intro: "What a person must be able to do. Exactly one of `touch`, `turn`, `pour` and `lift-out` says what.",
    keys: &[
        one_of("these", "touch", "touch", "{body: dipstick, at: [640, -210, 905]}", "A hand must get there."),
        one_of(
            "these",
            "turn",
            "turn",
            "{body: cap, along: up, grip_radius: 45, grip_height: 60}",
            "A cap must be gripped and turned.",
        ),
        one_of(
            "these",
            "pour",
            "pour",
            "{body: filler, along: up, spout_radius: 25, spout_length: 250}",
            "A spout must be held above it.",
        ),
        one_of(
            "these",
            "lift-out",
            "lift-out",
            "{body: battery, along: up, travel: 260, room: 5}",
            "The body must come out in a straight line.",
        ),
        may(
            "opening",
            "length or name of an opening",
            "`hand-bare`; `fist-bare` to turn; the spout to pour; none to lift out",
            "hand-gloved",
            "Least diameter of the way to it.",
        ),
        may("from", "list of standing places", "any", "[left-wing, front]", "Where the person may stand."),
        may("without", "list of bodies", "none", "[engine-cover]", "Bodies taken off first; no obstacles."),
    ],
};

/// A touch.
pub(crate) const TOUCH: KeyTable = KeyTable {
    title: "a touch",
    intro: "",
    keys: &[
        BODY,
        may("at", "point", "the middle of the body", "[640, -210, 905]", "The point to touch."),
        ON,
    ],
};

/// A turn of a cap.
pub(crate) const TURN: KeyTable = KeyTable {
    title: "a cap to turn",
    intro: "",
    keys: &[
        BODY,
        may(
            "at",
            "point",
            "the middle of the body's face toward `along`",
            "[640, -210, 905]",
            "Middle of the cap.",
        ),
        ON,
        may("along", "direction", "`up`", "up", "The cap's axis, away from the body."),
        must("grip_radius", "length", "45", "Radius that the hand needs free about the axis."),
        must("grip_height", "length", "60", "Height that it needs free above the point."),
    ],
};

/// A pour.
pub(crate) const POUR: KeyTable = KeyTable {
    title: "a pour",
    intro: "",
    keys: &[
        BODY,
        may(
            "at",
            "point",
            "the middle of the body's face toward `along`",
            "[640, -210, 905]",
            "Middle of the filler.",
        ),
        ON,
        may("along", "direction", "`up`", "up", "The spout's line, away from the body."),
        must("spout_radius", "length", "25", "Radius of the spout with what holds it."),
        must("spout_length", "length", "250", "Length that must be free above the filler."),
    ],
};

/// A lift-out.
pub(crate) const LIFT_OUT: KeyTable = KeyTable {
    title: "a lift-out",
    intro: "",
    keys: &[
        BODY,
        may("along", "direction", "`up`", "up", "Which way it comes out, in vehicle axes."),
        must("travel", "length", "260", "How far until it is free."),
        may("room", "length", "0", "5", "Least gap on the way."),
    ],
};

/// A service point as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenService {
    pub name: Named,
    pub kind: Option<ServiceKind>,
    pub body: Named,
    pub at: Option<Point3<f64>>,
    pub on: Option<Named>,
    pub along: WrittenDirection,
    pub opening: Option<WrittenOpeningSize>,
    pub from: Vec<Named>,
    pub without: Vec<Named>,
}

/// An opening as a service point gives it.
#[derive(Clone, Debug)]
pub(crate) enum WrittenOpeningSize {
    /// A diameter, mm.
    Diameter(f64),
    /// The name of an opening.
    Named(Named),
}

pub(super) fn service(cx: &Cx<'_>, name: Named, node: &Node) -> Option<WrittenService> {
    let outer = Table::open(cx, node, &SERVICE)?;
    let opening = outer.get("opening").and_then(|node| match node.scalar() {
        Some(word) if starts_like_a_name(word) => {
            Some(WrittenOpeningSize::Named(Named { text: word.to_owned(), place: node.real().place.clone() }))
        }
        _ => size(cx, node, "the opening").map(WrittenOpeningSize::Diameter),
    });
    let names = |key: &'static str, what: &str| {
        outer.get(key).map(|node| words(cx, node, what, "a list of names")).unwrap_or_default()
    };
    let (from, without) = (names("from", "a standing place"), names("without", "a body"));
    let key = ["touch", "turn", "pour", "lift-out"].into_iter().find(|key| outer.has(key))?;
    let inner = outer.get(key)?;
    let table = Table::open(
        cx,
        inner,
        match key {
            "touch" => &TOUCH,
            "turn" => &TURN,
            "pour" => &POUR,
            _ => &LIFT_OUT,
        },
    )?;
    let has = |key: &str| table.keys.names().any(|known| known == key) && table.has(key);
    let body = table.get("body").and_then(|node| text(cx, node, "the body", "the name of a body"));
    let at = if has("at") { table.get("at").map(|node| point(cx, node, "`at`")) } else { None };
    let on = if has("on") {
        table.get("on").and_then(|node| text(cx, node, "`on`", "the name of a body or frame"))
    } else {
        None
    };
    let along = if has("along") { direction(cx, table.get("along")?, "`along`") } else { Some(up()) };
    let whole = at.is_none_or(|at| at.is_some()) && along.is_some();
    let kind = kind(cx, &table, key).filter(|_| whole);
    Some(WrittenService {
        name,
        kind,
        body: body?,
        at: at.flatten(),
        on,
        along: along.unwrap_or_else(up),
        opening,
        from,
        without,
    })
}

fn kind(cx: &Cx<'_>, table: &Table<'_>, key: &str) -> Option<ServiceKind> {
    let needed = |key: &'static str| {
        table.get(key).and_then(|node| size(cx, node, &format!("`{key}`"))).map(Length::from_mm)
    };
    Some(match key {
        "touch" => ServiceKind::Touch,
        "turn" => {
            let (radius, height) = (needed("grip_radius"), needed("grip_height"));
            ServiceKind::Turn { grip_radius: radius?, grip_height: height? }
        }
        "pour" => {
            let (radius, length) = (needed("spout_radius"), needed("spout_length"));
            ServiceKind::Pour { spout_radius: radius?, spout_length: length? }
        }
        _ => {
            let room = match table.get("room") {
                Some(node) => extent(cx, node, "the room on the way"),
                None => Some(0.0),
            };
            let travel = needed("travel");
            ServiceKind::LiftOut { travel: travel?, room: Length::from_mm(room?) }
        }
    })
}

fn up() -> WrittenDirection {
    WrittenDirection::Vehicle(crate::space::Direction::Up)
}
