//! Shapes, sizes and outlines.

use std::f64::consts::TAU;

use nalgebra::{Point2, Point3, UnitQuaternion, Vector3};

use super::frame::{AT, AXIS, TURN, WrittenPose, place};
use super::keys::{Key, KeyTable, may, must, one_of};
use super::table::{Table, told};
use super::value::{
    choice, extent, flat_point, list, of_the_vehicle, own_direction, point, points, size, sweep, text,
};
use super::{Cx, Named};
use crate::scene::error::Fault;
use crate::scene::read::{Node, NodeKind, Place};
use crate::solid::{Ball, Block, Capsule, Cloud, Cylinder, Frustum, Hull, Plate, Shape, TorusArc};
use crate::space::{LengthUnit, Pose};

/// How near a round outline's polygon keeps to its circle, mm.
pub(crate) const ROUND_CHORD_MM: f64 = 0.01;

pub(super) const DIAMETER: Key =
    one_of("`diameter`, `radius`", "diameter", "length", "63.5", "Outside diameter.");
pub(super) const RADIUS: Key = one_of("`diameter`, `radius`", "radius", "length", "31.75", "Outside radius.");
const LENGTH: Key = one_of(
    "`length`, `from` with `to`",
    "length",
    "length",
    "90",
    "Full length, half of it on each side of the origin.",
);
const FROM: Key = one_of(
    "`length`, `from` with `to`",
    "from",
    "point",
    "[0, 0, 0]",
    "Centre of one end (the bottom of a cone).",
);
const TO: Key = may("to", "point", "with `from`", "[0, 0, 90]", "Centre of the other end.");
const FILE: Key = must("file", "path", "parts/bracket.stl", "The file, beside the one that names it.");
const FILE_UNITS: Key = may(
    "units",
    "`mm`, `cm`, `m`, `in` or `ft`",
    "the `units` of this file",
    "mm",
    "What a number in the file means.",
);

/// The kinds of shape.
pub(crate) const SHAPE: KeyTable = KeyTable {
    title: "a shape",
    intro: "Exactly one of these keys. Every shape stands in its body's own frame.",
    keys: &[
        one_of(
            "these",
            "box",
            "`[x, y, z]`",
            "[242, 175, 190]",
            "Rectangular, centred on the origin, full edge lengths.",
        ),
        one_of("these", "sphere", "sphere", "{diameter: 40}", "About the origin."),
        one_of(
            "these",
            "cylinder",
            "cylinder",
            "{diameter: 150, length: 90}",
            "Straight and round with flat ends, axis z, centred on the origin; or from point to point.",
        ),
        one_of(
            "these",
            "capsule",
            "capsule",
            "{diameter: 12, core: 200}",
            "Straight and round with round ends.",
        ),
        one_of(
            "these",
            "cone",
            "cone",
            "{bottom_diameter: 80, top_diameter: 50, length: 60}",
            "Frustum with flat ends, axis z, centred on the origin; or from point to point.",
        ),
        one_of(
            "these",
            "bend",
            "bend",
            "{diameter: 63.5, bend_radius: 95, angle: 90 deg}",
            "A bent round bar: swept about z from the x axis, in the xy plane.",
        ),
        one_of(
            "these",
            "plate",
            "plate",
            "{outline: [[0, 0], [80, 0], [80, 50]], thickness: 6}",
            "Flat, outline in the xy plane, from z = 0 to the thickness.",
        ),
        one_of(
            "these",
            "tube",
            "tube",
            "{diameter: 63.5, points: [[0, 0, 0], [200, 0, 0], [200, 150, 0]], bend_radius: 95}",
            "A round tube along a bent centreline; as an obstacle solid to its outside.",
        ),
        one_of(
            "these",
            "hose",
            "hose",
            "{diameter: 19, from: [0, 0, 0], from_out: +x, to: [300, 0, -80], to_out: -x, length: 380, least_bend: 60, kg_per_m: 0.45, stiffness: 0.06}",
            "A flexible run between two ports, at rest.",
        ),
        one_of(
            "these",
            "hull",
            "hull",
            "{points: [[0, 0, 0], [90, 0, 0], [0, 90, 0], [0, 0, 90]]}",
            "The least convex solid that holds the points.",
        ),
        one_of(
            "these",
            "mesh",
            "mesh file",
            "{file: parts/bracket.stl}",
            "Triangles from a PLY, STL or OBJ file.",
        ),
        one_of("these", "cloud", "point file", "{file: scans/cowl.ply, radius: 2}", "Points, each a ball."),
        one_of(
            "these",
            "union",
            "list of parts",
            "[{shape: {box: [80, 50, 6]}}, {shape: {sphere: {radius: 9}}, at: [0, 0, 9]}]",
            "Several shapes that make one solid.",
        ),
    ],
};

/// A sphere.
pub(crate) const SPHERE: KeyTable =
    KeyTable { title: "a sphere", intro: "About the origin.", keys: &[DIAMETER, RADIUS] };

/// A cylinder.
pub(crate) const CYLINDER: KeyTable = KeyTable {
    title: "a cylinder",
    intro: "With `from` and `to` the body's frame stands midway, z toward `to`.",
    keys: &[DIAMETER, RADIUS, LENGTH, FROM, TO],
};

/// A capsule.
pub(crate) const CAPSULE: KeyTable = KeyTable {
    title: "a capsule",
    intro: "`core`, `from` and `to` are of the straight part, between the centres of the round ends.",
    keys: &[
        DIAMETER,
        RADIUS,
        one_of(
            "`core`, `from` with `to`",
            "core",
            "length",
            "200",
            "Length of the straight part; 0 makes a ball.",
        ),
        one_of("`core`, `from` with `to`", "from", "point", "[0, 0, 0]", "Centre of one round end."),
        TO,
    ],
};

/// A cone.
pub(crate) const CONE: KeyTable = KeyTable {
    title: "a cone",
    intro: "The bottom is at -z, or at `from`. One of the diameters may be 0.",
    keys: &[
        must("bottom_diameter", "length", "80", "Diameter of the bottom."),
        must("top_diameter", "length", "50", "Diameter of the top."),
        LENGTH,
        FROM,
        TO,
    ],
};

/// A bend.
pub(crate) const BEND: KeyTable = KeyTable {
    title: "a bend",
    intro: "Its start faces -y at x = bend_radius.",
    keys: &[
        DIAMETER,
        RADIUS,
        must("bend_radius", "length", "95", "Radius of the centreline about z."),
        must("angle", "angle", "90 deg", "How far it bends."),
    ],
};

/// A plate.
pub(crate) const PLATE: KeyTable = KeyTable {
    title: "a plate",
    intro: "A round outline or hole becomes a polygon within 0.01 mm of its circle, on the side that makes the plate larger.",
    keys: &[
        must(
            "outline",
            "list of `[x, y]`, or a circle",
            "[[0, 0], [80, 0], [80, 50]]",
            "The edge, either way round.",
        ),
        may(
            "holes",
            "list of outlines",
            "none",
            "[{circle: [20, 15], diameter: 11}]",
            "Holes, each written like the outline.",
        ),
        must("thickness", "length", "6", "From z = 0 upward."),
    ],
};

/// A circle in a plate.
pub(crate) const CIRCLE: KeyTable = KeyTable {
    title: "a circle of a plate",
    intro: "In place of a list of corners.",
    keys: &[must("circle", "`[x, y]`", "[20, 15]", "Its centre."), DIAMETER, RADIUS],
};

/// A hull.
pub(crate) const HULL: KeyTable = KeyTable {
    title: "a hull",
    intro: "At least four points that are not in one plane.",
    keys: &[must(
        "points",
        "list of points",
        "[[0, 0, 0], [90, 0, 0], [0, 90, 0], [0, 0, 90]]",
        "The points.",
    )],
};

/// A mesh.
pub(crate) const MESH: KeyTable = KeyTable {
    title: "a mesh",
    intro: "A closed mesh has an inside; a measured patch of surface has none and needs `open_thickness`.",
    keys: &[
        FILE,
        FILE_UNITS,
        may(
            "open_thickness",
            "length",
            "the mesh must be closed",
            "1.2",
            "The mesh is a patch of surface, this thick behind its triangles (against their right-handed normals); 0 for a bare surface.",
        ),
        may(
            "solid_side",
            "`+x` ... `-z` or a triple, the file's axes",
            "behind the triangles as they are wound",
            "-z",
            "To which side of an open patch its metal lies, whatever way its triangles are wound; they must face one side on the whole.",
        ),
    ],
};

/// A cloud.
pub(crate) const CLOUD: KeyTable = KeyTable {
    title: "a cloud",
    intro: "Gaps to it are to the balls, so the radius should reach from point to point.",
    keys: &[FILE, FILE_UNITS, must("radius", "length", "2", "Radius of every ball.")],
};

/// A part of a union.
pub(crate) const PART: KeyTable = KeyTable {
    title: "a part of a union",
    intro: "Placed in the body's own frame. Here `axis` takes `+x` ... `-z` or a triple, for the words of the vehicle do not turn with the body.",
    keys: &[must("shape", "shape", "{box: [80, 50, 6]}", "Its shape."), AT, TURN, AXIS],
};

/// A path with the unit of the file's numbers.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct PathIn {
    pub path: Named,
    pub unit: LengthUnit,
}

/// A shape as written; what is in files is not read yet.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) enum WrittenShape {
    /// A shape, and where its frame stands in the body's.
    Ready(Shape, Pose),
    Mesh {
        file: PathIn,
        open_thickness_mm: Option<f64>,
        /// In the file's axes.
        solid_side: Option<Vector3<f64>>,
    },
    Cloud {
        file: PathIn,
        radius_mm: f64,
    },
    Hose(Box<super::WrittenHose>),
    Union(Vec<(WrittenShape, WrittenPose, Place)>),
}

pub(super) fn shape(cx: &Cx<'_>, node: &Node) -> Option<WrittenShape> {
    shape_within(cx, node, 0)
}

fn shape_within(cx: &Cx<'_>, node: &Node, depth: usize) -> Option<WrittenShape> {
    let table = Table::open(cx, node, &SHAPE)?;
    let key = SHAPE.names().find(|key| table.has(key))?;
    let node = table.get(key)?;
    let here = |shape| Some(WrittenShape::Ready(shape, Pose::identity()));
    match key {
        "box" => here(Shape::Block(Block { size_mm: edges(cx, node)? })),
        "sphere" => here(Shape::Ball(Ball { radius_mm: radius(cx, &Table::open(cx, node, &SPHERE)?)? })),
        "cylinder" => {
            let table = Table::open(cx, node, &CYLINDER)?;
            let (radius_mm, run) = (radius(cx, &table), run(cx, &table, "length"));
            let (radius_mm, (length_mm, pose)) = (radius_mm?, run?);
            Some(WrittenShape::Ready(Shape::Cylinder(Cylinder { radius_mm, length_mm }), pose))
        }
        "capsule" => {
            let table = Table::open(cx, node, &CAPSULE)?;
            let (radius_mm, run) = (radius(cx, &table), run(cx, &table, "core"));
            let (radius_mm, (core_mm, pose)) = (radius_mm?, run?);
            Some(WrittenShape::Ready(Shape::Capsule(Capsule { radius_mm, core_mm }), pose))
        }
        "cone" => cone(cx, node),
        "bend" => {
            let table = Table::open(cx, node, &BEND)?;
            let tube = radius(cx, &table);
            let ring = table.get("bend_radius").and_then(|node| size(cx, node, "the bend radius"));
            let angle = table.get("angle").and_then(|node| sweep(cx, node, "the angle of the bend"));
            here(Shape::TorusArc(TorusArc {
                ring_radius_mm: ring?,
                tube_radius_mm: tube?,
                sweep_rad: angle?.rad(),
            }))
        }
        "plate" => here(Shape::Plate(plate(cx, node)?)),
        "tube" => here(Shape::Tube(super::tube::tube(cx, node)?)),
        "hose" if depth == 0 => super::hose::hose(cx, node).map(|hose| WrittenShape::Hose(Box::new(hose))),
        "hose" => {
            let fault = Fault::WrongKind {
                what: "a part of a union".to_owned(),
                found: "a hose".to_owned(),
                expected: "a rigid shape",
                example: "a body of its own for the hose",
            };
            cx.add(node.real(), fault);
            None
        }
        "hull" => {
            let table = Table::open(cx, node, &HULL)?;
            let node = table.get("points")?;
            here(Shape::Hull(Hull::new(points(cx, node, "a point", "`[[x, y, z], ...]`", point)?)))
        }
        "mesh" => {
            let table = Table::open(cx, node, &MESH)?;
            let file = file(cx, &table);
            let open = table.get("open_thickness").map(|node| extent(cx, node, "`open_thickness`"));
            let open_thickness_mm = match open {
                Some(thickness) => Some(thickness?),
                None => None,
            };
            let solid_side = match table.get("solid_side") {
                Some(node) => Some(own_direction(cx, node, "`solid_side`")?),
                None => None,
            };
            if let (Some(node), None) = (table.get("solid_side"), open_thickness_mm) {
                let of = "a mesh with a `solid_side`".to_owned();
                cx.add(node.real(), Fault::MissingKey { key: "open_thickness", of, example: "1.2".into() });
                return None;
            }
            Some(WrittenShape::Mesh { file: file?, open_thickness_mm, solid_side })
        }
        "cloud" => {
            let table = Table::open(cx, node, &CLOUD)?;
            let file = file(cx, &table);
            let radius = table.get("radius").and_then(|node| size(cx, node, "the radius"));
            Some(WrittenShape::Cloud { file: file?, radius_mm: radius? })
        }
        _ => union(cx, node, depth),
    }
}

/// A cloud of points that are already read.
pub(crate) fn cloud_of(points: Vec<Point3<f64>>, radius_mm: f64) -> Shape {
    Shape::Cloud(Cloud::new(points, radius_mm))
}

fn edges(cx: &Cx<'_>, node: &Node) -> Option<Vector3<f64>> {
    let NodeKind::List(items, _) = &node.real().kind else {
        let found = told(node.real());
        let (what, expected, example) = ("a box".to_owned(), "three edge lengths", "`box: [242, 175, 190]`");
        cx.add(node.real(), Fault::WrongKind { what, found, expected, example });
        return None;
    };
    if items.len() != 3 {
        let (found, expected, example) = (items.len(), "three edge lengths", "`box: [242, 175, 190]`");
        cx.add(node.real(), Fault::Count { what: "a box".into(), found, expected, example });
        return None;
    }
    let sizes: Vec<f64> = items.iter().filter_map(|item| size(cx, item, "an edge of the box")).collect();
    <[f64; 3]>::try_from(sizes).ok().map(Vector3::from)
}

/// `diameter` or `radius` of a table, as a radius, mm.
pub(super) fn radius(cx: &Cx<'_>, table: &Table<'_>) -> Option<f64> {
    let whole = table.get("diameter").and_then(|node| size(cx, node, "the diameter")).map(|mm| mm / 2.0);
    whole.or(table.get("radius").and_then(|node| size(cx, node, "the radius")))
}

/// A length about the origin, or from point to point: the length and the pose of its middle.
fn run(cx: &Cx<'_>, table: &Table<'_>, length: &'static str) -> Option<(f64, Pose)> {
    table.exclude(cx, length, "to", "write the length, or `from` and `to`");
    if let Some(node) = table.get(length) {
        let what = format!("the {length}");
        let mm = if length == "core" { extent(cx, node, &what) } else { size(cx, node, &what) };
        return Some((mm?, Pose::identity()));
    }
    let from_node = table.get("from")?;
    let Some(to_node) = table.get("to") else {
        let (key, of, example) = ("to", table.keys.title.to_owned(), "to: [0, 0, 90]".to_owned());
        cx.faults.add(table.place.clone(), Fault::MissingKey { key, of, example });
        return None;
    };
    let (from, to) = (point(cx, from_node, "`from`"), point(cx, to_node, "`to`"));
    let (from, to) = (from?, to?);
    let along = to - from;
    let mm = along.norm();
    if mm == 0.0 && length != "core" {
        let fault = Fault::Range {
            what: "the length from `from` to `to`".into(),
            found: "0 mm".into(),
            limit: "it must be above zero".into(),
            remedy: "write two different points",
        };
        cx.add(to_node.real(), fault);
        return None;
    }
    let pose = Pose::from_parts(nalgebra::center(&from, &to).into(), z_onto(&along));
    Some((mm, pose))
}

/// The shortest turn that takes z onto a vector; about x when they point apart, none for zero.
pub(crate) fn z_onto(along: &Vector3<f64>) -> UnitQuaternion<f64> {
    let half_turn = || UnitQuaternion::from_axis_angle(&Vector3::x_axis(), std::f64::consts::PI);
    match along.try_normalize(0.0) {
        // Exact for the axes themselves, so that `axis: up` and no axis give the same bits.
        Some(unit) if unit == Vector3::z() => UnitQuaternion::identity(),
        Some(unit) if unit.z <= -1.0 + 1e-15 => half_turn(),
        Some(unit) => UnitQuaternion::rotation_between(&Vector3::z(), &unit).unwrap_or_else(half_turn),
        None => UnitQuaternion::identity(),
    }
}

fn cone(cx: &Cx<'_>, node: &Node) -> Option<WrittenShape> {
    let table = Table::open(cx, node, &CONE)?;
    let half = |key: &'static str| {
        table.get(key).and_then(|node| extent(cx, node, &format!("`{key}`"))).map(|diameter| diameter / 2.0)
    };
    let (bottom, top, run) = (half("bottom_diameter"), half("top_diameter"), run(cx, &table, "length"));
    let (length_mm, pose) = run?;
    let shape = Frustum { bottom_radius_mm: bottom?, top_radius_mm: top?, length_mm };
    Some(WrittenShape::Ready(Shape::Frustum(shape), pose))
}

/// On which side of a circle its polygon lies.
#[derive(Clone, Copy, PartialEq)]
enum Polygon {
    Inside,
    Outside,
}

fn ring(cx: &Cx<'_>, node: &Node, what: &str, polygon: Polygon) -> Option<Vec<Point2<f64>>> {
    if let NodeKind::Map(..) = node.real().kind {
        let table = Table::open(cx, node, &CIRCLE)?;
        let center = table.get("circle").and_then(|node| flat_point(cx, node, "the centre of the circle"));
        let (radius, center) = (radius(cx, &table), center);
        let (radius, center) = (radius?, center?);
        return Some(polygon_of(&center, radius, polygon));
    }
    points(cx, node, what, "`[[x, y], ...]` or `{circle: [x, y], diameter: 11}`", flat_point)
}

fn polygon_of(center: &Point2<f64>, radius_mm: f64, polygon: Polygon) -> Vec<Point2<f64>> {
    let half_angle = (1.0 - (ROUND_CHORD_MM / radius_mm).min(0.5)).acos();
    let corners = ((TAU / 2.0 / half_angle).ceil() as usize).clamp(12, 2000);
    let reach = match polygon {
        Polygon::Inside => radius_mm,
        Polygon::Outside => radius_mm / (TAU / 2.0 / corners as f64).cos(),
    };
    let corner = |at: usize| {
        let angle = TAU * at as f64 / corners as f64;
        Point2::new(center.x + reach * angle.cos(), center.y + reach * angle.sin())
    };
    (0..corners).map(corner).collect()
}

fn plate(cx: &Cx<'_>, node: &Node) -> Option<Plate> {
    let table = Table::open(cx, node, &PLATE)?;
    let outline =
        table.get("outline").and_then(|node| ring(cx, node, "a corner of the outline", Polygon::Outside));
    let thickness = table.get("thickness").and_then(|node| size(cx, node, "the thickness"));
    let holes = match table.get("holes") {
        Some(node) => {
            let nodes = list(cx, node, "`holes`", "`[{circle: [20, 15], diameter: 11}]`")?;
            let holes: Vec<_> = nodes
                .iter()
                .filter_map(|node| ring(cx, node, "a corner of a hole", Polygon::Inside))
                .collect();
            if holes.len() != nodes.len() {
                return None;
            }
            holes
        }
        None => Vec::new(),
    };
    Some(Plate { outline: outline?, holes, thickness_mm: thickness? })
}

fn file(cx: &Cx<'_>, table: &Table<'_>) -> Option<PathIn> {
    let path =
        table.get("file").and_then(|node| text(cx, node, "`file`", "a path such as `parts/bracket.stl`"));
    let unit = match table.get("units") {
        Some(node) => {
            let word = choice(cx, node, "a unit of length", &["mm", "cm", "m", "in", "ft"])?;
            LengthUnit::from_word(&word).unwrap_or_default()
        }
        None => cx.units,
    };
    Some(PathIn { path: path?, unit })
}

fn union(cx: &Cx<'_>, node: &Node, depth: usize) -> Option<WrittenShape> {
    const EXAMPLE: &str = "`- {shape: {box: [80, 50, 6]}, at: [0, 0, 3]}` lines";
    if depth >= 4 {
        cx.add(node.real(), Fault::TooMuch { what: "unions within each other", limit: 4 });
        return None;
    }
    let nodes = list(cx, node, "a union", EXAMPLE)?;
    if nodes.is_empty() {
        let fault =
            Fault::Count { what: "a union".into(), found: 0, expected: "one part or more", example: EXAMPLE };
        cx.add(node.real(), fault);
        return None;
    }
    let part = |node: &Node| {
        let table = Table::open(cx, node, &PART)?;
        let pose = place(cx, &table);
        if let super::Orientation::Along(super::WrittenDirection::Vehicle(direction)) = pose.orientation {
            cx.add(table.get("axis")?.real(), of_the_vehicle(direction));
        }
        let node = table.get("shape")?;
        Some((shape_within(cx, node, depth + 1)?, pose, node.real().place.clone()))
    };
    let parts: Vec<_> = nodes.iter().filter_map(|node| part(node)).collect();
    (parts.len() == nodes.len()).then_some(WrittenShape::Union(parts))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_round_hole_is_never_larger_than_its_circle_and_an_outline_never_smaller() {
        for radius in [0.5, 5.5, 80.0, 400.0] {
            let center = Point2::new(3.0, -4.0);
            let sides = |polygon| {
                let corners = polygon_of(&center, radius, polygon);
                let middles = (0..corners.len())
                    .map(|at| nalgebra::center(&corners[at], &corners[(at + 1) % corners.len()]));
                let far = corners.iter().map(|c| (c - center).norm()).fold(0.0, f64::max);
                let near = middles.map(|m| (m - center).norm()).fold(f64::INFINITY, f64::min);
                (near, far)
            };
            let (near, far) = sides(Polygon::Inside);
            assert!(far <= radius + 1e-12 && near >= radius - ROUND_CHORD_MM - 1e-12, "hole of {radius}");
            let (near, far) = sides(Polygon::Outside);
            assert!(near >= radius - 1e-12 && far <= radius + 2.0 * ROUND_CHORD_MM, "outline of {radius}");
        }
    }

    #[test]
    fn z_turns_onto_every_axis() {
        for along in [Vector3::x(), -Vector3::x(), Vector3::y(), -Vector3::y(), Vector3::z(), -Vector3::z()] {
            let got = z_onto(&(along * 7.0)) * Vector3::z();
            assert!((got - along).norm() < 1e-12, "{along:?}");
        }
        assert_eq!(z_onto(&Vector3::new(0.0, 0.0, 3.0)), UnitQuaternion::identity());
    }
}
