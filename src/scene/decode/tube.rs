//! Tubes: by corners, by a bend list, or as a shop says it.

use nalgebra::{Point3, Vector3};

use super::Cx;
use super::keys::{KeyTable, may, must, one_of};
use super::shape::{DIAMETER, RADIUS, radius};
use super::table::Table;
use super::value::{angle, extent, list, point, points, size, sweep, text};
use crate::scene::error::Fault;
use crate::scene::read::{Node, NodeKind};
use crate::solid::Tube;
use crate::space::Pose;
use crate::tube::{BendList, CornerLine, ListedBend, SpokenTube, TubeError};

const HOW: &str = "`points`, `bends`, `spoken`";

/// A tube.
pub(crate) const TUBE: KeyTable = KeyTable {
    title: "a tube",
    intro: "`points` are the ends and the corners where the straight legs would meet. A tube by `bends` or `spoken` starts at the body's origin and heads along its x axis; a bend without rotation turns about z, toward y.",
    keys: &[
        DIAMETER,
        RADIUS,
        may("wall", "length", "a solid bar", "1.65", "Wall thickness; counts for mass and for flow."),
        one_of(
            HOW,
            "points",
            "list of points",
            "[[0, 0, 0], [200, 0, 0], [200, 150, 0]]",
            "Ends and corners, in order.",
        ),
        one_of(
            HOW,
            "bends",
            "list of bends of a tube",
            "[{straight: 120, angle: 90 deg}, {straight: 60, rotation: 45 deg, angle: 30 deg}]",
            "The bend list: straight, rotation, angle of each bend.",
        ),
        one_of(
            HOW,
            "spoken",
            "text",
            "6 in straight, 90 at 4.5 in CLR, turn up, 3 in straight",
            "Straights, legs and bends as a shop says them; directions as if the body stood unturned.",
        ),
        may("last_straight", "length", "0", "80", "With `bends`: straight after the last bend."),
        may(
            "bend_radius",
            "length, or a list of them",
            "none, for a straight tube",
            "95",
            "Radius of the centreline at the corners or bends: one for all, or one each.",
        ),
    ],
};

/// A bend of a bend list.
pub(crate) const LISTED_BEND: KeyTable = KeyTable {
    title: "a bend of a tube",
    intro: "One line of a bend list.",
    keys: &[
        must("straight", "length", "120", "Straight before it, between tangent points."),
        may(
            "rotation",
            "angle",
            "0 deg",
            "45 deg",
            "Turn of the plane since the last bend, right-handed about the way the tube is fed.",
        ),
        must("angle", "angle", "90 deg", "How far it bends, at most 180 deg."),
    ],
};

pub(super) fn tube(cx: &Cx<'_>, node: &Node) -> Option<Tube> {
    let table = Table::open(cx, node, &TUBE)?;
    let radius_mm = radius(cx, &table);
    let wall_mm = match table.get("wall") {
        Some(node) => Some(size(cx, node, "the wall")?),
        None => None,
    };
    for (one, other) in [("points", "last_straight"), ("spoken", "last_straight"), ("spoken", "bend_radius")]
    {
        table.exclude(cx, one, other, "it goes with `bends`; a spoken tube says its own");
    }
    let line = if let Some(node) = table.get("points") {
        let corners = points(cx, node, "a point of the tube", "`[[x, y, z], ...]`", point)?;
        let radii_mm = radii(cx, &table, corners.len().saturating_sub(2))?;
        CornerLine { points: corners, radii_mm }
    } else if let Some(node) = table.get("bends") {
        let list = listed(cx, &table, node)?;
        told(cx, node, list.corners())?
    } else {
        let node = table.get("spoken")?;
        let said = text(cx, node, "a spoken tube", "`spoken: 6 in straight, 90 at 4.5 in CLR, turn up`")?;
        let tube = SpokenTube::parse(&said.text, cx.units, Point3::origin(), Vector3::x_axis());
        told(cx, node, tube.and_then(|tube| tube.bend_list()).and_then(|list| list.corners()))?
    };
    Some(line.tube(radius_mm?, wall_mm))
}

/// What a tube's conversion gave, its fault told at the place where the tube is written.
fn told<T>(cx: &Cx<'_>, node: &Node, made: Result<T, TubeError>) -> Option<T> {
    match made {
        Ok(made) => Some(made),
        Err(cause) => {
            cx.add(node.real(), Fault::Tube { cause: Box::new(cause) });
            None
        }
    }
}

fn listed(cx: &Cx<'_>, table: &Table<'_>, node: &Node) -> Option<BendList> {
    let nodes = list(cx, node, "`bends`", "`[{straight: 120, angle: 90 deg}]`")?;
    let radii_mm = radii(cx, table, nodes.len())?;
    let last_straight_mm = match table.get("last_straight") {
        Some(node) => extent(cx, node, "the last straight")?,
        None => 0.0,
    };
    let bend = |(node, radius_mm): (&&Node, f64)| {
        let table = Table::open(cx, node, &LISTED_BEND)?;
        let straight = table.get("straight").and_then(|node| extent(cx, node, "the straight"));
        let bent = table.get("angle").and_then(|node| sweep(cx, node, "the angle of the bend"));
        let rotation_rad = match table.get("rotation") {
            Some(node) => angle(cx, node, "the rotation")?.rad(),
            None => 0.0,
        };
        Some(ListedBend { straight_mm: straight?, rotation_rad, angle_rad: bent?.rad(), radius_mm })
    };
    let bends: Vec<ListedBend> = nodes.iter().zip(radii_mm).filter_map(bend).collect();
    (bends.len() == nodes.len()).then_some(BendList { start: Pose::identity(), bends, last_straight_mm })
}

/// The radius of each bend.
fn radii(cx: &Cx<'_>, table: &Table<'_>, bends: usize) -> Option<Vec<f64>> {
    Some(match table.get("bend_radius") {
        None if bends == 0 => Vec::new(),
        None => {
            let (key, of, example) =
                ("bend_radius", "a tube with corners".to_owned(), "bend_radius: 95".to_owned());
            cx.faults.add(table.place.clone(), Fault::MissingKey { key, of, example });
            return None;
        }
        Some(node) => match &node.real().kind {
            NodeKind::List(items, _) => {
                let radii: Vec<f64> =
                    items.iter().filter_map(|item| extent(cx, item, "a bend radius")).collect();
                if items.len() != bends {
                    let fault = Fault::Count {
                        what: format!("`bend_radius` for {bends} corners"),
                        found: items.len(),
                        expected: "as many radii as corners between the ends",
                        example: "one radius for all, or one a corner",
                    };
                    cx.add(node.real(), fault);
                    return None;
                }
                if radii.len() != bends {
                    return None;
                }
                radii
            }
            _ => vec![extent(cx, node, "the bend radius")?; bends],
        },
    })
}
