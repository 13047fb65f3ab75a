//! Carriers.

use nalgebra::{Point3, Unit, Vector3};

use super::keys::{KeyTable, may, must};
use super::table::Table;
use super::value::{angle, extent, point, size, sweep, vehicle_direction};
use super::{Cx, Named};
use crate::scene::error::Fault;
use crate::scene::read::Node;
use crate::space::Angle;

/// A carrier.
pub(crate) const CARRIER: KeyTable = KeyTable {
    title: "a carrier",
    intro: "What bodies move with. It may have several movements at once; bodies are written where they are when all of them rest.",
    keys: &[
        may(
            "rock",
            "rock",
            "none",
            "{through: [900, 0, 420], along: rearward, forward: 3 deg, reverse: 2 deg}",
            "Turn under torque about a line.",
        ),
        may(
            "bounce",
            "bounce",
            "none",
            "{along: up, up: 4, down: 6}",
            "Travel of the mounts along a direction.",
        ),
        may(
            "hinge",
            "hinge",
            "none",
            "{through: [1450, 0, 1010], along: right, from: 0, to: 60 deg}",
            "Turn about a hinge line.",
        ),
        may("lift", "lift", "none", "{along: up, travel: 300}", "Straight travel from rest."),
    ],
};

/// A rock.
pub(crate) const ROCK: KeyTable = KeyTable {
    title: "a rock",
    intro: "Right-handed about `along` is forward: with the right thumb along it, the fingers curl the way of `forward`.",
    keys: &[
        must("through", "point", "[900, 0, 420]", "A point on the axis, vehicle axes."),
        must("along", "direction", "rearward", "Direction of the axis."),
        must("forward", "angle", "3 deg", "Greatest turn right-handed about the axis."),
        must("reverse", "angle", "2 deg", "Greatest turn the other way, without a sign."),
    ],
};

/// A bounce.
pub(crate) const BOUNCE: KeyTable = KeyTable {
    title: "a bounce",
    intro: "Travel either way along a direction; it carries the rock's axis with it.",
    keys: &[
        may("along", "direction", "`up`", "up", "The direction."),
        must("up", "length", "4", "Greatest travel along it."),
        must("down", "length", "6", "Greatest travel against it, without a sign."),
    ],
};

/// A hinge.
pub(crate) const HINGE: KeyTable = KeyTable {
    title: "a hinge",
    intro: "Right-handed about `along`. The range must hold 0, the pose in which its bodies are written.",
    keys: &[
        must("through", "point", "[1450, 0, 1010]", "A point on the hinge line, vehicle axes."),
        must("along", "direction", "right", "Direction of the hinge line."),
        must("from", "angle", "0", "Least angle."),
        must("to", "angle", "60 deg", "Greatest angle."),
    ],
};

/// A lift.
pub(crate) const LIFT: KeyTable = KeyTable {
    title: "a lift",
    intro: "Straight travel from rest along a direction.",
    keys: &[must("along", "direction", "up", "The direction."), must("travel", "length", "300", "How far.")],
};

/// One movement of a carrier as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) enum WrittenFreedom {
    Turn { word: &'static str, through: Point3<f64>, along: Unit<Vector3<f64>>, from: Angle, to: Angle },
    Slide { word: &'static str, along: Unit<Vector3<f64>>, from_mm: f64, to_mm: f64 },
}

/// A carrier as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenCarrier {
    pub name: Named,
    pub freedoms: Vec<WrittenFreedom>,
}

pub(super) fn carrier(cx: &Cx<'_>, name: Named, node: &Node) -> Option<WrittenCarrier> {
    if name.text == "chassis" {
        let why = "it is built in and stands still; name a carrier that moves otherwise";
        cx.faults.add(name.place, Fault::BadName { name: name.text, why });
        return None;
    }
    if node.is_nothing() {
        return Some(WrittenCarrier { name, freedoms: Vec::new() });
    }
    let table = Table::open(cx, node, &CARRIER)?;
    table.exclude(cx, "rock", "hinge", "split them into two carriers; one carrier turns about one line");
    // The first listed is applied last: the mounts' travel takes the rocked engine, axis and all.
    let mut freedoms = Vec::new();
    freedoms.extend(table.get("bounce").and_then(|node| bounce(cx, node)));
    freedoms.extend(table.get("lift").and_then(|node| lift(cx, node)));
    freedoms.extend(table.get("rock").and_then(|node| rock(cx, node)));
    freedoms.extend(table.get("hinge").and_then(|node| hinge(cx, node)));
    Some(WrittenCarrier { name, freedoms })
}

fn axis(cx: &Cx<'_>, table: &Table<'_>) -> (Option<Point3<f64>>, Option<Unit<Vector3<f64>>>) {
    let through = table.get("through").and_then(|node| point(cx, node, "`through`"));
    (through, along(cx, table))
}

fn along(cx: &Cx<'_>, table: &Table<'_>) -> Option<Unit<Vector3<f64>>> {
    table.get("along").and_then(|node| vehicle_direction(cx, node, "`along`")).map(Unit::new_normalize)
}

fn rock(cx: &Cx<'_>, node: &Node) -> Option<WrittenFreedom> {
    let table = Table::open(cx, node, &ROCK)?;
    let (through, along) = axis(cx, &table);
    let forward = table.get("forward").and_then(|node| sweep(cx, node, "the forward rock"));
    let reverse = table.get("reverse").and_then(|node| sweep(cx, node, "the reverse rock"));
    Some(WrittenFreedom::Turn {
        word: "rock",
        through: through?,
        along: along?,
        from: -reverse?,
        to: forward?,
    })
}

fn hinge(cx: &Cx<'_>, node: &Node) -> Option<WrittenFreedom> {
    let table = Table::open(cx, node, &HINGE)?;
    let (through, along) = axis(cx, &table);
    let from = table.get("from").and_then(|node| angle(cx, node, "the hinge's `from`"));
    let to = table.get("to").and_then(|node| angle(cx, node, "the hinge's `to`"));
    let (from, to) = (from?, to?);
    let place = || table.key_place("from").unwrap_or_else(|| table.place.clone());
    if from > to {
        let fault = Fault::Range {
            what: "the hinge's `from`".into(),
            found: format!("{from}"),
            limit: format!("it must not be above `to`, {to}"),
            remedy: "swap them",
        };
        cx.faults.add(place(), fault);
        return None;
    }
    if from.rad() > 0.0 || to.rad() < 0.0 {
        let fault = Fault::Range {
            what: "the hinge's range".into(),
            found: format!("{from} to {to}"),
            limit: "it must hold 0, the pose in which its bodies are written".into(),
            remedy: "measure the angles from that pose",
        };
        cx.faults.add(place(), fault);
        return None;
    }
    Some(WrittenFreedom::Turn { word: "hinge", through: through?, along: along?, from, to })
}

fn bounce(cx: &Cx<'_>, node: &Node) -> Option<WrittenFreedom> {
    let table = Table::open(cx, node, &BOUNCE)?;
    let along = if table.has("along") { along(cx, &table) } else { Some(Vector3::z_axis()) };
    let up = table.get("up").and_then(|node| extent(cx, node, "the bounce up"));
    let down = table.get("down").and_then(|node| extent(cx, node, "the bounce down"));
    Some(WrittenFreedom::Slide { word: "bounce", along: along?, from_mm: -down?, to_mm: up? })
}

fn lift(cx: &Cx<'_>, node: &Node) -> Option<WrittenFreedom> {
    let table = Table::open(cx, node, &LIFT)?;
    let along = along(cx, &table);
    let travel = table.get("travel").and_then(|node| size(cx, node, "the lift's travel"));
    Some(WrittenFreedom::Slide { word: "lift", along: along?, from_mm: 0.0, to_mm: travel? })
}
