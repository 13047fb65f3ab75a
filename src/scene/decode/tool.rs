//! Tools.

use super::keys::{KeyTable, may, must};
use super::table::{Table, told};
use super::value::{choice, extent, flag, length, list, size, sweep, text};
use super::{Cx, Named};
use crate::scene::error::Fault;
use crate::scene::read::Node;
use crate::scene::{ServiceTool, ToolEntry};
use crate::space::Angle;

/// A tool.
pub(crate) const TOOL: KeyTable = KeyTable {
    title: "a tool",
    intro: "What turns fasteners, as the bay sees it: round sections on the fastener's axis, and a lever across it. A scene's own tool replaces one of the library of the same name.",
    keys: &[
        must("fits", "list of lengths", "[10, 13]", "Widths across flats that it comes in."),
        must("wall", "length", "2.5", "Metal round the corners of the hexagon; 0 for a key that goes in."),
        must("head", "length", "25", "Height of the socket, ring or jaw over the fastener's seat."),
        may("shank", "length", "0", "75", "Length of a straight shank above the head: an extension."),
        may("shank_radius", "length", "6", "6", "Its radius."),
        may("drive", "length", "0", "32", "Height of what turns it, above head and shank: a ratchet's head."),
        may("drive_radius", "length", "17", "17", "Its radius."),
        may(
            "lever",
            "length",
            "none",
            "180",
            "Length of the lever from the axis; none for what is turned by its top.",
        ),
        may("lever_radius", "length", "12", "12", "Its radius, with the fingers round it."),
        may(
            "lever_height",
            "length",
            "the middle of the drive, else of the head",
            "20",
            "Height of its middle line over the seat.",
        ),
        must(
            "click",
            "angle",
            "5 deg",
            "Turn after which it takes a new hold: 360 deg by the teeth of a ratchet, 30 for a 12-point ring, 60 for a 6-point one.",
        ),
        may(
            "lean",
            "angle",
            "none",
            "15 deg",
            "How far all above the head may lean, about the head's top: a wobble extension, a universal joint. At most 75 deg.",
        ),
        may(
            "lever_rise",
            "angle",
            "none",
            "60 deg",
            "How far the lever's end may be raised from square: a flex head. At most 75 deg.",
        ),
        may(
            "entry",
            "`along` or `side`",
            "`along`",
            "side",
            "Along the fastener's axis, or across it along the lever.",
        ),
        may("off", "length", "the head", "12", "How far it travels until it is off."),
        may("torque", "`true` or `false`", "`false`", "true", "Whether it measures torque."),
        must("source", "text", "measured", "Where the figures come from."),
    ],
};

/// Joints bend no further than this.
const BEND_MOST_DEG: f64 = 75.0;

pub(super) fn tool(cx: &Cx<'_>, name: Named, node: &Node) -> Option<ServiceTool> {
    let table = Table::open(cx, node, &TOOL)?;
    let fits_mm: Option<Vec<f64>> = table.get("fits").and_then(|node| {
        let items = list(cx, node, "`fits`", "`fits: [10, 13]`")?;
        items.into_iter().map(|item| size(cx, item, "a width across flats")).collect()
    });
    let above = |key: &'static str, usual_mm: f64| match table.get(key) {
        Some(node) => size(cx, node, &format!("`{key}`")),
        None => Some(usual_mm),
    };
    let none_too = |key: &'static str, usual_mm: f64| match table.get(key) {
        Some(node) => extent(cx, node, &format!("`{key}`")),
        None => Some(usual_mm),
    };
    let wall = none_too("wall", 0.0);
    let head = above("head", 1.0);
    let (shank, shank_radius) = (none_too("shank", 0.0), above("shank_radius", 6.0));
    let (drive, drive_radius) = (none_too("drive", 0.0), above("drive_radius", 17.0));
    let lever = table.get("lever").map(|node| size(cx, node, "`lever`"));
    let lever_radius = above("lever_radius", 12.0);
    let height = table.get("lever_height").map(|node| length(cx, node, "`lever_height`"));
    let click = table.get("click").and_then(|node| sweep(cx, node, "`click`"));
    let bend = |key: &'static str| match table.get(key) {
        None => Some(Angle::ZERO),
        Some(node) => sweep(cx, node, &format!("`{key}`")).and_then(|angle| {
            if angle.deg() > BEND_MOST_DEG {
                let fault = Fault::Range {
                    what: format!("`{key}`"),
                    found: told(node.real()),
                    limit: "no joint of a tool bends further than 75 deg".into(),
                    remedy: "give how far yours bends; a tool that bends further is two tools",
                };
                cx.add(node.real(), fault);
                return None;
            }
            Some(angle)
        }),
    };
    let (lean, lever_rise) = (bend("lean"), bend("lever_rise"));
    let entry = match table.get("entry") {
        None => Some(ToolEntry::Along),
        Some(node) => choice(cx, node, "a way onto a fastener", &["along", "side"])
            .map(|word| if word == "side" { ToolEntry::Side } else { ToolEntry::Along }),
    };
    let torque = match table.get("torque") {
        Some(node) => flag(cx, node, "`torque`"),
        None => Some(false),
    };
    let source = table.get("source").and_then(|node| text(cx, node, "the source", "`source: measured`"));
    let (head, shank, drive) = (head?, shank?, drive?);
    let off = above("off", head);
    let usual_height = if drive > 0.0 { head + shank + 0.5 * drive } else { 0.5 * head };
    let height = height.unwrap_or(Some(usual_height))?;
    let lever_mm = match lever {
        Some(lever) => Some((height, lever?, lever_radius?)),
        None => None,
    };
    let click: Angle = click?;
    Some(ServiceTool {
        name: name.text,
        fits_mm: fits_mm?,
        wall_mm: wall?,
        head_mm: head,
        shank_mm: (shank, shank_radius?),
        drive_mm: (drive, drive_radius?),
        lever_mm,
        click,
        lean: lean?,
        lever_rise: lever_rise?,
        entry: entry?,
        off_mm: off?,
        torque: torque?,
        source: source?.text,
    })
}
