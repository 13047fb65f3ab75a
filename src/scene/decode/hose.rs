//! Hoses: flexible runs of known length between two ports.

use nalgebra::{Point3, Unit, Vector3};

use super::keys::{KeyTable, may, must, one_of};
use super::shape::{DIAMETER, RADIUS, radius};
use super::table::Table;
use super::value::{extent, flag, length, list, number, own_direction, point, size, small_angle, text};
use super::{Cx, Named};
use crate::hose::{Clip, Hose, Port, stiffness_from_droop};
use crate::scene::error::Fault;
use crate::scene::model::HoseKnown;
use crate::scene::read::{Node, Place};

/// Newtons that a kilogram weighs: standard gravity, ISO 80000-3.
const GRAVITY: f64 = 9.80665;

const HOW_STIFF: &str = "`stiffness`, `droop`";

/// A hose.
pub(crate) const HOSE: KeyTable = KeyTable {
    title: "a hose",
    intro: "A flexible run between two ports: the shape is the one that it takes at rest, found from its length, weight and stiffness. It is free to twist. Ports and clips are in the body's frame.",
    keys: &[
        DIAMETER,
        RADIUS,
        must("from", "point", "[0, 0, 0]", "Where it begins."),
        must("from_out", "direction", "+x", "The way that it leaves its first port."),
        must("to", "point", "[300, 0, -80]", "Where it ends."),
        must("to_out", "direction", "-x", "The way that it leaves its last port, seen from that port."),
        must("length", "length", "380", "Length of hose between the ports."),
        must("least_bend", "length", "60", "Least radius that its middle line may be bent to."),
        must("kg_per_m", "number", "0.45", "Mass of a metre, what flows in it included."),
        one_of(HOW_STIFF, "stiffness", "number", "0.06", "Bending stiffness E I, N m2."),
        one_of(
            HOW_STIFF,
            "droop",
            "droop of a hose",
            "{free: 300, sinks: 40}",
            "How far the end of a piece sinks that is clamped level, instead of the stiffness.",
        ),
        may(
            "clips",
            "list of clips",
            "none",
            "[{at: [150, 0, -20], along: +x}]",
            "What holds it between, in order.",
        ),
        may("to_rides", "carrier", "what carries the body", "chassis", "What its last end rides on."),
        may(
            "drains",
            "`true` or `false`",
            "`false`",
            "true",
            "Whether it must fall all the way from `from` to `to`.",
        ),
        may(
            "sigma_from",
            "length",
            "what is known of the body's place there",
            "1",
            "Standard uncertainty of where it begins, each axis.",
        ),
        may(
            "sigma_to",
            "length",
            "what is known of the body's place there",
            "1",
            "Standard uncertainty of where it ends, each axis.",
        ),
        may(
            "sigma_out",
            "angle",
            "what is known of the body's turn",
            "2 deg",
            "Standard uncertainty of both ways out, about each axis.",
        ),
        may("sigma_length", "length", "0", "2", "Standard uncertainty of its length."),
    ],
};

/// How a hose droops.
pub(crate) const DROOP: KeyTable = KeyTable {
    title: "a droop of a hose",
    intro: "Clamp the hose level, let a length hang out, measure how far its end sinks. Right for a sink of up to a fifth of the length.",
    keys: &[
        must("free", "length", "300", "What hangs out."),
        must("sinks", "length", "40", "How far its end sinks."),
    ],
};

/// A clip.
pub(crate) const CLIP: KeyTable = KeyTable {
    title: "a clip",
    intro: "Holds a hose where it may neither turn nor slide.",
    keys: &[
        must("at", "point", "[150, 0, -20]", "The middle of the hose in it."),
        must("along", "direction", "+x", "The way that the hose goes through it, from its first port on."),
        may(
            "from_start",
            "length",
            "what is to spare is shared out",
            "190",
            "Length of hose from the first port to it.",
        ),
    ],
};

/// A hose as it is written.
#[derive(Clone, Debug)]
pub(crate) struct WrittenHose {
    pub hose: Hose,
    pub least_bend_mm: f64,
    pub to_rides: Option<Named>,
    pub drains: bool,
    pub known: HoseKnown,
    pub place: Place,
}

pub(super) fn hose(cx: &Cx<'_>, node: &Node) -> Option<WrittenHose> {
    let table = Table::open(cx, node, &HOSE)?;
    let port = |at: &str, out: &str| {
        let place = table.get(at).and_then(|node| point(cx, node, &format!("`{at}`")));
        Some(Port { at: place?, out: heading(cx, table.get(out)?, out)? })
    };
    let (from, to) = (port("from", "from_out"), port("to", "to_out"));
    let radius_mm = radius(cx, &table);
    let length_mm = table.get("length").and_then(|node| size(cx, node, "the length of the hose"));
    let least_bend = table.get("least_bend").and_then(|node| size(cx, node, "`least_bend`"));
    let mass = table.get("kg_per_m").and_then(|node| number(cx, node, "`kg_per_m`"));
    let weight_n_mm = mass.map(|mass| mass * GRAVITY * 1e-3);
    let stiffness = match (table.get("stiffness"), table.get("droop")) {
        (Some(node), _) => number(cx, node, "`stiffness`").map(|newton_m2| newton_m2 * 1e6),
        (None, Some(node)) => drooped(cx, node, weight_n_mm),
        (None, None) => None,
    };
    let clips = match table.get("clips") {
        Some(node) => list(cx, node, "`clips`", "`[{at: [150, 0, -20], along: +x}]`")?
            .into_iter()
            .map(|node| clip(cx, node))
            .collect::<Option<Vec<_>>>(),
        None => Some(Vec::new()),
    };
    let to_rides = table.get("to_rides").and_then(|node| text(cx, node, "`to_rides`", "`to_rides: chassis`"));
    let drains = table.get("drains").and_then(|node| flag(cx, node, "`drains`")).unwrap_or(false);
    let sigma = |key: &str| table.get(key).and_then(|node| extent(cx, node, &format!("`{key}`")));
    let out = table.get("sigma_out").and_then(|node| small_angle(cx, node, "`sigma_out`"));
    Some(WrittenHose {
        hose: Hose {
            from: from?,
            to: to?,
            clips: clips?,
            length_mm: length_mm?,
            radius_mm: radius_mm?,
            stiffness_n_mm2: stiffness?,
            weight_n_mm: weight_n_mm?,
            up: Vector3::z_axis(),
        },
        least_bend_mm: least_bend?,
        to_rides,
        drains,
        known: HoseKnown {
            from_mm: sigma("sigma_from"),
            to_mm: sigma("sigma_to"),
            out_rad: out,
            length_mm: sigma("sigma_length").unwrap_or(0.0),
        },
        place: node.real().place.clone(),
    })
}

fn heading(cx: &Cx<'_>, node: &Node, what: &str) -> Option<Unit<Vector3<f64>>> {
    own_direction(cx, node, &format!("`{what}`")).map(Unit::new_normalize)
}

fn clip(cx: &Cx<'_>, node: &Node) -> Option<Clip> {
    let table = Table::open(cx, node, &CLIP)?;
    let at: Option<Point3<f64>> = table.get("at").and_then(|node| point(cx, node, "`at` of the clip"));
    let along = table.get("along").and_then(|node| heading(cx, node, "along"));
    let from_start_mm = match table.get("from_start") {
        Some(node) => Some(extent(cx, node, "`from_start`")?),
        None => None,
    };
    Some(Clip { at: at?, along: along?, from_start_mm })
}

fn drooped(cx: &Cx<'_>, node: &Node, weight_n_mm: Option<f64>) -> Option<f64> {
    let table = Table::open(cx, node, &DROOP)?;
    let figure = |key: &str| table.get(key).and_then(|node| length(cx, node, &format!("`{key}`")));
    let (free_mm, sinks_mm) = (figure("free"), figure("sinks"));
    match stiffness_from_droop(weight_n_mm?, free_mm?, sinks_mm?) {
        Ok(stiffness) => Some(stiffness),
        Err(cause) => {
            cx.add(node.real(), Fault::Hose { cause });
            None
        }
    }
}
