//! Service points. The lists of keys of what is done there: `service_keys`.

use nalgebra::{Point3, Unit, Vector3};

use super::keys::{KeyTable, may, one_of};
use super::people::starts_like_a_name;
use super::service_keys::{CLAMP, LIFT_OUT, MIRROR, PLUG, POUR, PULL, SEE, TOUCH, TURN, WRENCH};
use super::table::{Table, told};
use super::value::{direction, extent, flag, number, point, size, sweep, text, words};
use super::{Cx, Named, WrittenDirection};
use crate::scene::error::Fault;
use crate::scene::read::Node;
use crate::scene::{SceneMirror, ServiceKind, WrenchJob};
use crate::space::Length;

/// A service point.
pub(crate) const SERVICE: KeyTable = KeyTable {
    title: "a service point",
    intro: "What a person must be able to do. Exactly one of `see`, `touch`, `turn`, `pull`, `pour`, `plug`, `wrench`, `clamp` and `lift-out` says what. Defaults without a source beside them are common practice, no source.",
    keys: &[
        one_of("these", "see", "see", "{body: filter-indicator, along: up}", "An eye must see it."),
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
            "pull",
            "pull",
            "{body: dipstick, along: up, length: 300}",
            "A hand must pull it straight out.",
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
            "plug",
            "plug",
            "{body: connector, along: left}",
            "Finger and thumb must pull a connector off.",
        ),
        one_of(
            "these",
            "wrench",
            "wrench",
            "{body: bolt-1, along: up, size: 13}",
            "A tool must turn a fastener.",
        ),
        one_of(
            "these",
            "clamp",
            "clamp",
            "{body: clamp-nut, along: left, size: 10}",
            "A tool must turn a clamp's nut.",
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
            "`hand-bare` to touch and pull; `fist-bare` to turn; `two-fingers-bare` to unplug; `hand-with-25mm-bare` at a tool's grip; the spout to pour; none to see and lift out. In gloves the same ones `-gloved`",
            "hand-gloved",
            "Least diameter of the way to it.",
        ),
        may("from", "list of standing places", "any", "[left-wing, front]", "Where the person may stand."),
        may("without", "list of bodies", "none", "[engine-cover]", "Bodies taken off first; no obstacles."),
    ],
};

/// What may be done, each with its list of keys.
const KINDS: [(&str, &KeyTable); 9] = [
    ("see", &SEE),
    ("touch", &TOUCH),
    ("turn", &TURN),
    ("pull", &PULL),
    ("pour", &POUR),
    ("plug", &PLUG),
    ("wrench", &WRENCH),
    ("clamp", &CLAMP),
    ("lift-out", &LIFT_OUT),
];

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
    pub tools: Vec<Named>,
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
    let (key, keys) = KINDS.into_iter().find(|(key, _)| outer.has(key))?;
    let table = Table::open(cx, outer.get(key)?, keys)?;
    let has = |key: &str| table.keys.names().any(|known| known == key) && table.has(key);
    let body = table.get("body").and_then(|node| text(cx, node, "the body", "the name of a body"));
    let at = if has("at") { table.get("at").map(|node| point(cx, node, "`at`")) } else { None };
    let on = if has("on") {
        table.get("on").and_then(|node| text(cx, node, "`on`", "the name of a body or frame"))
    } else {
        None
    };
    let tools = if has("tool") {
        table.get("tool").map(|node| words(cx, node, "a tool", "`tool: [ratchet-3-8]`")).unwrap_or_default()
    } else {
        Vec::new()
    };
    let along = if has("along") { direction(cx, table.get("along")?, "`along`") } else { Some(up()) };
    let whole = at.is_none_or(|at| at.is_some()) && along.is_some();
    let kind = kind(cx, &table, key, &tools).filter(|_| whole);
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
        tools,
    })
}

fn kind(cx: &Cx<'_>, table: &Table<'_>, key: &str, tools: &[Named]) -> Option<ServiceKind> {
    let needed = |key: &'static str| {
        table.get(key).and_then(|node| size(cx, node, &format!("`{key}`"))).map(Length::from_mm)
    };
    let given = |key: &'static str, usual_mm: f64| match table.get(key) {
        Some(_) => needed(key),
        None => Some(Length::from_mm(usual_mm)),
    };
    let none_too = |key: &'static str, usual_mm: f64| match table.get(key) {
        Some(node) => extent(cx, node, &format!("`{key}`")).map(Length::from_mm),
        None => Some(Length::from_mm(usual_mm)),
    };
    let arc = |key: &'static str| match table.get(key) {
        Some(node) => sweep(cx, node, &format!("`{key}`")).map(Some),
        None => Some(None),
    };
    Some(match key {
        "see" => {
            let mirror = match table.get("mirror") {
                Some(node) => Some(mirror(cx, node)?),
                None => None,
            };
            ServiceKind::See { radius: given("radius", 10.0)?, share: share(cx, table)?, mirror }
        }
        "touch" => ServiceKind::Touch,
        "turn" => ServiceKind::Turn {
            grip_radius: given("grip_radius", 75.0)?,
            grip_height: given("grip_height", 60.0)?,
            swing: arc("swing")?,
        },
        "pull" => ServiceKind::Pull { length: needed("length")?, hand_radius: given("hand_radius", 47.5)? },
        "pour" => ServiceKind::Pour {
            spout_radius: given("spout_radius", 25.0)?,
            spout_length: given("spout_length", 250.0)?,
            container_radius: given("container_radius", 90.0)?,
            container_height: none_too("container_height", 300.0)?,
            tilt: arc("tilt")?,
        },
        "plug" => ServiceKind::Plug { pull: given("pull", 30.0)?, thumb: given("thumb", 25.0)? },
        "wrench" | "clamp" => {
            let torque = match table.get("torque") {
                Some(node) => flag(cx, node, "`torque`")?,
                None => false,
            };
            let job = WrenchJob {
                size: needed("size")?,
                tools: tools.iter().map(|tool| tool.text.clone()).collect(),
                turn: arc("turn")?,
                torque,
            };
            if key == "clamp" { ServiceKind::Clamp(job) } else { ServiceKind::Wrench(job) }
        }
        _ => ServiceKind::LiftOut { travel: needed("travel")?, room: none_too("room", 0.0)? },
    })
}

/// The share of a target that must be seen.
fn share(cx: &Cx<'_>, table: &Table<'_>) -> Option<f64> {
    const USUAL: f64 = 0.5;
    let Some(node) = table.get("share") else { return Some(USUAL) };
    let share = number(cx, node, "`share`")?;
    if share > 0.0 && share <= 1.0 {
        return Some(share);
    }
    let fault = Fault::Range {
        what: "`share`".into(),
        found: told(node.real()),
        limit: "it must be above 0 and at most 1".into(),
        remedy: "write the part of the target that must be seen, such as `share: 0.5`",
    };
    cx.add(node.real(), fault);
    None
}

fn mirror(cx: &Cx<'_>, node: &Node) -> Option<SceneMirror> {
    let table = Table::open(cx, node, &MIRROR)?;
    let at = table.get("at").and_then(|node| point(cx, node, "the mirror's middle"));
    let normal = table.get("normal").and_then(|node| direction(cx, node, "the mirror's `normal`"));
    let radius = match table.get("radius") {
        Some(node) => size(cx, node, "the mirror's radius"),
        None => Some(25.0),
    };
    let normal: Vector3<f64> = match normal? {
        WrittenDirection::Vehicle(word) => word.unit().into_inner(),
        WrittenDirection::Local(vector) => vector,
    };
    Some(SceneMirror { at: at?, normal: Unit::new_normalize(normal), radius: Length::from_mm(radius?) })
}

fn up() -> WrittenDirection {
    WrittenDirection::Vehicle(crate::space::Direction::Up)
}
