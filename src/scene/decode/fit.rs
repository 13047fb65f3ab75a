//! Fits: bodies made from marks of a survey.

use nalgebra::Vector3;

use super::fit_keys::{
    BEND_FIT, BOLT_FIT, BOX_FIT, CIRCLE_FIT, CLOUD_FIT, CONE_FIT, CYLINDER_FIT, EDGE_FIT, FIT, LINE_FIT,
    PLANE_FIT, POINT_FIT, SLOT_FIT, SPHERE_FIT, TUBE_FIT,
};
use super::table::{Table, named};
use super::value::{angle, choice, count, extent, flag, list, size, text, vehicle_direction, words};
use super::{Cx, Named};
use crate::scene::error::{Fault, nearest};
use crate::scene::read::{Node, NodeKind, Place};
use crate::space::Direction;

/// What is fitted, with what only that kind is told.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) enum FitKind {
    Plane { thickness_mm: f64, solid_side: Vector3<f64>, margin_mm: f64 },
    Cylinder { length_mm: Option<f64>, margin_mm: f64, along: Option<Vector3<f64>> },
    Sphere,
    Circle { depth_mm: f64, along: Vector3<f64> },
    Box { faces: Vec<(Named, Vec<Direction>)>, size_mm: [Option<(f64, f64)>; 3] },
    Cone { margin_mm: f64, along: Option<Vector3<f64>> },
    Bend { margin_mm: f64, axis: Option<Vector3<f64>> },
    Slot { depth_mm: f64, along: Vector3<f64> },
    BoltPattern { holes: usize, flange_mm: f64, thickness_mm: f64, along: Vector3<f64> },
    Line { diameter_mm: f64, margin_mm: f64, along: Option<Vector3<f64>> },
    Edge { thickness_mm: f64, depth_mm: f64, into: Vector3<f64>, into_sigma_rad: f64, margin_mm: f64 },
    Point { diameter_mm: f64 },
    Tube { legs: Vec<Vec<String>>, bend_radii_mm: Vec<f64>, margin_mm: f64 },
    Cloud { radius_mm: f64 },
}

/// A fit as written.
#[derive(Clone, Debug)]
pub(crate) struct WrittenFit {
    /// The survey.
    pub survey: Named,
    /// Marks, none twice.
    pub marks: Vec<Named>,
    /// Radius known from elsewhere with its standard uncertainty, mm.
    pub known_radius_mm: Option<(f64, f64)>,
    /// Whether a ball tip touched from inside.
    pub from_inside: bool,
    /// Whether marks beyond chance are left out.
    pub leave_out: bool,
    /// What is fitted; `None` when that had a fault, which was told.
    pub kind: Option<FitKind>,
    /// Where.
    pub place: Place,
}

impl FitKind {
    /// The word of the format for it.
    pub fn word(&self) -> &'static str {
        match self {
            FitKind::Plane { .. } => "plane",
            FitKind::Cylinder { .. } => "cylinder",
            FitKind::Sphere => "sphere",
            FitKind::Circle { .. } => "circle",
            FitKind::Box { .. } => "box",
            FitKind::Cone { .. } => "cone",
            FitKind::Bend { .. } => "bend",
            FitKind::Slot { .. } => "slot",
            FitKind::BoltPattern { .. } => "bolt_pattern",
            FitKind::Line { .. } => "line",
            FitKind::Edge { .. } => "edge",
            FitKind::Point { .. } => "point",
            FitKind::Tube { .. } => "tube",
            FitKind::Cloud { .. } => "cloud",
        }
    }
}

pub(super) fn fit(cx: &Cx<'_>, node: &Node) -> Option<WrittenFit> {
    let outer = Table::open(cx, node, &FIT)?;
    let key = FIT.names().find(|key| outer.has(key))?;
    let node = outer.get(key)?;
    let keys = match key {
        "plane" => &PLANE_FIT,
        "cylinder" => &CYLINDER_FIT,
        "sphere" => &SPHERE_FIT,
        "circle" => &CIRCLE_FIT,
        "box" => &BOX_FIT,
        "cone" => &CONE_FIT,
        "bend" => &BEND_FIT,
        "slot" => &SLOT_FIT,
        "bolt_pattern" => &BOLT_FIT,
        "line" => &LINE_FIT,
        "edge" => &EDGE_FIT,
        "point" => &POINT_FIT,
        "tube" => &TUBE_FIT,
        _ => &CLOUD_FIT,
    };
    let table = Table::open(cx, node, keys)?;
    let has = |key: &str| keys.names().any(|known| known == key) && table.has(key);
    let survey = table.get("survey").and_then(|node| text(cx, node, "the survey", "the name of a survey"));
    let mut marks = if has("marks") {
        table.get("marks").map(|node| words(cx, node, "a mark", "`[N1, N2, N3]`"))
    } else {
        None
    }
    .unwrap_or_default();
    refuse_repeats(cx, &marks);
    let from_inside = has("touched")
        && table
            .get("touched")
            .and_then(|node| choice(cx, node, "a side", &["outside", "inside"]))
            .as_deref()
            == Some("inside");
    let leave_out = has("leave_out")
        && table.get("leave_out").and_then(|node| flag(cx, node, "`leave_out`")) == Some(true);
    // A line's or a point's diameter is that of the body and nothing that is fitted.
    let fits_diameter = keys.names().any(|known| known == "diameter_sigma");
    let known_radius_mm =
        if fits_diameter && has("diameter") { known_radius(cx, &table) } else { Some(None) };
    if has("diameter_sigma")
        && !has("diameter")
        && let Some(place) = table.key_place("diameter_sigma")
    {
        let (key, of, example) = ("diameter", keys.title.to_owned(), "diameter: 63.5".to_owned());
        cx.faults.add(place, Fault::MissingKey { key, of, example });
    }
    let kind = kind(cx, &table, key, &mut marks).filter(|_| known_radius_mm.is_some());
    Some(WrittenFit {
        survey: survey?,
        marks,
        known_radius_mm: known_radius_mm.flatten(),
        from_inside,
        leave_out,
        kind,
        place: node.real().place.clone(),
    })
}

/// Half of a known diameter with its standard uncertainty, mm.
fn known_radius(cx: &Cx<'_>, table: &Table<'_>) -> Option<Option<(f64, f64)>> {
    let sigma = match table.get("diameter_sigma") {
        Some(node) => size(cx, node, "`diameter_sigma`"),
        None => Some(0.1),
    };
    let diameter = table.get("diameter").and_then(|node| size(cx, node, "the diameter"));
    Some(Some((diameter? / 2.0, sigma? / 2.0)))
}

fn kind(cx: &Cx<'_>, table: &Table<'_>, key: &str, marks: &mut Vec<Named>) -> Option<FitKind> {
    let needed = |key: &'static str| table.get(key).and_then(|node| size(cx, node, &format!("`{key}`")));
    let optional = |key: &'static str| match table.get(key) {
        Some(node) => size(cx, node, &format!("`{key}`")).map(Some),
        None => Some(None),
    };
    let margin = || match table.get("margin") {
        Some(node) => extent(cx, node, "the margin"),
        None => Some(0.0),
    };
    let direction =
        |key: &'static str| table.get(key).and_then(|node| vehicle_direction(cx, node, &format!("`{key}`")));
    let optional_direction = |key: &'static str| match table.get(key) {
        Some(_) => direction(key).map(Some),
        None => Some(None),
    };
    Some(match key {
        "plane" => {
            let (thickness, side, margin) = (needed("thickness"), direction("solid_side"), margin());
            FitKind::Plane { thickness_mm: thickness?, solid_side: side?, margin_mm: margin? }
        }
        "cylinder" => {
            table.exclude(cx, "length", "margin", "`length` sets both ends; delete one");
            let (length, margin) = (optional("length"), margin());
            let along = optional_direction("along");
            FitKind::Cylinder { length_mm: length?, margin_mm: margin?, along: along? }
        }
        "sphere" => FitKind::Sphere,
        "circle" => {
            let (depth, along) = (needed("depth"), direction("along"));
            FitKind::Circle { depth_mm: depth?, along: along? }
        }
        "box" => {
            let faces = match table.get("faces") {
                Some(node) => faces(cx, node)?,
                None => Vec::new(),
            };
            for (mark, _) in &faces {
                if !marks.iter().any(|known| known.text == mark.text) {
                    marks.push(mark.clone());
                }
            }
            if marks.is_empty() {
                let (key, of) = ("faces", table.keys.title.to_owned());
                let example = "faces: {up: [B1, B2, B3], left: [B4, B5], forward: [B6]}".to_owned();
                cx.faults.add(table.place.clone(), Fault::MissingKey { key, of, example });
                return None;
            }
            let sigma = optional("size_sigma");
            let [x, y, z] = ["size_x", "size_y", "size_z"].map(optional);
            let sigma = sigma?.unwrap_or(0.5);
            FitKind::Box { faces, size_mm: [x?, y?, z?].map(|size| size.map(|mm| (mm, sigma))) }
        }
        "cone" => {
            let (margin, along) = (margin(), optional_direction("along"));
            FitKind::Cone { margin_mm: margin?, along: along? }
        }
        "bend" => {
            let (margin, axis) = (margin(), optional_direction("axis"));
            FitKind::Bend { margin_mm: margin?, axis: axis? }
        }
        "slot" => {
            let (depth, along) = (needed("depth"), direction("along"));
            FitKind::Slot { depth_mm: depth?, along: along? }
        }
        "bolt_pattern" => {
            let holes = table.get("holes").and_then(|node| count(cx, node, "`holes`", "`4`"));
            let (flange, thickness, along) = (needed("flange"), needed("thickness"), direction("along"));
            FitKind::BoltPattern {
                holes: holes?,
                flange_mm: flange?,
                thickness_mm: thickness?,
                along: along?,
            }
        }
        "line" => {
            let (diameter, margin, along) = (needed("diameter"), margin(), optional_direction("along"));
            FitKind::Line { diameter_mm: diameter?, margin_mm: margin?, along: along? }
        }
        "edge" => {
            let (thickness, depth, into) = (needed("thickness"), needed("depth"), direction("into"));
            let (margin, sigma) = (
                margin(),
                match table.get("into_sigma") {
                    Some(node) => angle(cx, node, "`into_sigma`").map(|angle| angle.rad().abs()),
                    None => Some(3.0f64.to_radians()),
                },
            );
            FitKind::Edge {
                thickness_mm: thickness?,
                depth_mm: depth?,
                into: into?,
                into_sigma_rad: sigma?,
                margin_mm: margin?,
            }
        }
        "point" => FitKind::Point { diameter_mm: needed("diameter")? },
        "tube" => {
            let legs = table.get("legs").and_then(|node| legs(cx, node));
            let (radii, margin) = (bend_radii(cx, table), margin());
            let (legs, mut radii) = (legs?, radii?);
            *marks = legs.concat();
            refuse_repeats(cx, marks);
            let bends = legs.len().saturating_sub(1);
            if let [one] = radii[..] {
                radii = vec![one; bends];
            }
            if radii.len() != bends
                && let Some(place) = table.key_place("bend_radius")
            {
                let why =
                    format!("{} bend radii for {bends} corners; give one for all, or one each", radii.len());
                cx.faults.add(place, Fault::Reading { what: "this fit", why });
                return None;
            }
            let legs = legs.iter().map(|leg| leg.iter().map(|mark| mark.text.clone()).collect());
            FitKind::Tube { legs: legs.collect(), bend_radii_mm: radii, margin_mm: margin? }
        }
        _ => FitKind::Cloud { radius_mm: needed("radius")? },
    })
}

/// Marks of a tube's legs, in order.
fn legs(cx: &Cx<'_>, node: &Node) -> Option<Vec<Vec<Named>>> {
    let example = "`[[A1, A2, A3, A4], [B1, B2, B3, B4]]`";
    let nodes = list(cx, node, "`legs`", example)?;
    let mut legs = Vec::new();
    for node in nodes {
        let leg = list(cx, node, "a leg", example)?;
        legs.push(leg.into_iter().map(|mark| text(cx, mark, "a mark", example)).collect::<Option<Vec<_>>>()?);
    }
    Some(legs)
}

/// One bend radius, or one each, mm.
fn bend_radii(cx: &Cx<'_>, table: &Table<'_>) -> Option<Vec<f64>> {
    let node = table.get("bend_radius")?;
    match &node.real().kind {
        NodeKind::List(items, _) => items.iter().map(|item| size(cx, item, "a bend radius")).collect(),
        _ => Some(vec![size(cx, node, "`bend_radius`")?]),
    }
}

fn refuse_repeats(cx: &Cx<'_>, marks: &[Named]) {
    for (at, mark) in marks.iter().enumerate() {
        if let Some(first) = marks[..at].iter().find(|known| known.text == mark.text) {
            let fault = Fault::Repeated { name: mark.text.clone() };
            cx.faults.add_two(mark.place.clone(), fault, "first", first.place.clone());
        }
    }
}

/// Marks by face, turned round: each mark with the faces it is on.
fn faces(cx: &Cx<'_>, node: &Node) -> Option<Vec<(Named, Vec<Direction>)>> {
    let mut out: Vec<(Named, Vec<Direction>)> = Vec::new();
    for (face, node) in named(cx, node, "faces") {
        let Some(direction) = Direction::from_word(&face.text) else {
            let known: Vec<String> =
                Direction::ALL.iter().map(|direction| direction.word().to_owned()).collect();
            let nearest = nearest(&face.text, known.iter().map(String::as_str));
            cx.faults.add(face.place, Fault::Choice { found: face.text, what: "a face", nearest, known });
            continue;
        };
        for mark in words(cx, node, "a mark", "`[B1, B2]`") {
            match out.iter_mut().find(|(known, _)| known.text == mark.text) {
                Some((_, directions)) => directions.push(direction),
                None => out.push((mark, vec![direction])),
            }
        }
    }
    Some(out)
}
