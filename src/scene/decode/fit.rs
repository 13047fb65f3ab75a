//! Fits: bodies made from marks of a survey.

use nalgebra::Vector3;

use super::keys::{Key, KeyTable, may, must, one_of};
use super::table::{Table, named};
use super::value::{choice, extent, size, text, vehicle_direction, words};
use super::{Cx, Named};
use crate::scene::error::{Fault, nearest};
use crate::scene::read::{Node, Place};
use crate::space::Direction;

const SURVEY: Key = must("survey", "name of a survey", "stand", "Whose marks.");
const MARKS: Key = must("marks", "list of marks", "[N1, N2, N3, N4, N5, N6]", "Marks on the surface.");
const KNOWN_DIAMETER: Key = may(
    "diameter",
    "length",
    "fitted",
    "63.5",
    "A diameter known from elsewhere; then only the place is fitted.",
);
const KNOWN_BY: Key = may(
    "diameter_sigma",
    "length",
    "0.1 mm (common practice, no source)",
    "0.2",
    "Standard uncertainty of a known diameter.",
);
const TOUCHED: Key = may(
    "touched",
    "`outside` or `inside`",
    "`outside`",
    "inside",
    "From which side a ball tip touched the surface; counts only when the survey has a `tip`.",
);
const ALONG: Key = may(
    "along",
    "direction, vehicle axes",
    "as the marks give it",
    "up",
    "Roughly where z points; the marks leave its sign open.",
);

/// The kinds of fit.
pub(crate) const FIT: KeyTable = KeyTable {
    title: "a fit",
    intro: "Exactly one of these keys. The body's place and its uncertainty come from the marks, in vehicle axes; `on`, `at`, `turn`, `axis` and the sigmas are then not given.",
    keys: &[
        one_of(
            "these",
            "plane",
            "plane fit",
            "{survey: stand, marks: [F1, F2, F3, F4], thickness: 1.2, solid_side: rearward}",
            "A plate: the convex outline of the marks in the fitted plane.",
        ),
        one_of(
            "these",
            "cylinder",
            "cylinder fit",
            "{survey: stand, marks: [N1, N2, N3, N4, N5, N6]}",
            "A round bar about the fitted axis.",
        ),
        one_of("these", "sphere", "sphere fit", "{survey: stand, marks: [S1, S2, S3, S4]}", "A ball."),
        one_of(
            "these",
            "circle",
            "circle fit",
            "{survey: stand, marks: [C1, C2, C3], depth: 40, along: down}",
            "A round bar that starts at the fitted circle.",
        ),
        one_of(
            "these",
            "box",
            "box fit",
            "{survey: stand, faces: {up: [B1, B2, B3], left: [B4, B5], forward: [B6]}, size_x: 242, size_y: 175, size_z: 190}",
            "A rectangular box.",
        ),
        one_of(
            "these",
            "cloud",
            "scan",
            "{survey: bay-scan, radius: 2}",
            "The points of a scan, each a ball.",
        ),
    ],
};

/// A plane fit.
pub(crate) const PLANE_FIT: KeyTable = KeyTable {
    title: "a plane fit",
    intro: "At least three marks. The body's frame has its origin amid the marks, z out of the solid, x and y in the plane.",
    keys: &[
        SURVEY,
        MARKS,
        must("thickness", "length", "1.2", "Thickness of the solid behind the measured face."),
        must(
            "solid_side",
            "direction, vehicle axes",
            "rearward",
            "On which side of the measured face the solid is.",
        ),
        may("margin", "length", "0", "25", "How far the solid reaches beyond the marks, all round."),
        TOUCHED,
    ],
};

/// A cylinder fit.
pub(crate) const CYLINDER_FIT: KeyTable = KeyTable {
    title: "a cylinder fit",
    intro: "At least five marks when the diameter is fitted. It reaches over the marks along its axis unless `length` is given; the body's frame stands midway, z along the axis.",
    keys: &[
        SURVEY,
        MARKS,
        KNOWN_DIAMETER,
        KNOWN_BY,
        may(
            "length",
            "length",
            "over the marks",
            "120",
            "Length along the axis, about the middle of the marks.",
        ),
        may("margin", "length", "0", "5", "How far it reaches beyond the marks at each end."),
        ALONG,
        TOUCHED,
    ],
};

/// A sphere fit.
pub(crate) const SPHERE_FIT: KeyTable = KeyTable {
    title: "a sphere fit",
    intro: "At least four marks when the diameter is fitted.",
    keys: &[SURVEY, MARKS, KNOWN_DIAMETER, KNOWN_BY, TOUCHED],
};

/// A circle fit.
pub(crate) const CIRCLE_FIT: KeyTable = KeyTable {
    title: "a circle fit",
    intro: "At least three marks. The body's frame stands midway along the depth, z along `along`.",
    keys: &[
        SURVEY,
        MARKS,
        KNOWN_DIAMETER,
        KNOWN_BY,
        must("depth", "length", "40", "Length of the bar that starts at the circle."),
        must("along", "direction, vehicle axes", "down", "Roughly which way the bar goes from the circle."),
        TOUCHED,
    ],
};

/// A box fit.
pub(crate) const BOX_FIT: KeyTable = KeyTable {
    title: "a box fit",
    intro: "Marks on faces that are named under `faces`, or found for those under `marks`. A face that cannot be touched needs the size across it.",
    keys: &[
        SURVEY,
        may(
            "marks",
            "list of marks",
            "none",
            "[B1, B2, B3, B4, B5, B6]",
            "Marks whose face is the nearest one.",
        ),
        may(
            "faces",
            "map from direction to marks",
            "none",
            "{up: [B1, B2, B3], left: [B4, B5], forward: [B6]}",
            "Marks by the face they are on; a mark on an edge is named under both faces.",
        ),
        may("size_x", "length", "fitted", "242", "Known edge length along the box's x, rearward."),
        may("size_y", "length", "fitted", "175", "Known edge length along the box's y, right."),
        may("size_z", "length", "fitted", "190", "Known edge length along the box's z, up."),
        may(
            "size_sigma",
            "length",
            "0.5 mm (common practice, no source)",
            "1",
            "Standard uncertainty of the known edge lengths.",
        ),
        TOUCHED,
    ],
};

/// A cloud from a scan.
pub(crate) const CLOUD_FIT: KeyTable = KeyTable {
    title: "a cloud from a scan",
    intro: "The survey's `file` must be a scan. The body's frame is the vehicle's.",
    keys: &[
        SURVEY,
        must("radius", "length", "2", "Radius of every ball; it should reach from point to point."),
    ],
};

/// What is fitted, with what only that kind is told.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) enum FitKind {
    Plane { thickness_mm: f64, solid_side: Vector3<f64>, margin_mm: f64 },
    Cylinder { length_mm: Option<f64>, margin_mm: f64, along: Option<Vector3<f64>> },
    Sphere,
    Circle { depth_mm: f64, along: Vector3<f64> },
    Box { faces: Vec<(Named, Vec<Direction>)>, size_mm: [Option<(f64, f64)>; 3] },
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
    let known_radius_mm = if has("diameter") { known_radius(cx, &table) } else { Some(None) };
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
    Some(match key {
        "plane" => {
            let (thickness, side, margin) = (needed("thickness"), direction("solid_side"), margin());
            FitKind::Plane { thickness_mm: thickness?, solid_side: side?, margin_mm: margin? }
        }
        "cylinder" => {
            table.exclude(cx, "length", "margin", "`length` sets both ends; delete one");
            let (length, margin) = (optional("length"), margin());
            let along = if table.has("along") { Some(direction("along")?) } else { None };
            FitKind::Cylinder { length_mm: length?, margin_mm: margin?, along }
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
        _ => FitKind::Cloud { radius_mm: needed("radius")? },
    })
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
