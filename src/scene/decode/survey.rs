//! Surveys and their alignment.

use nalgebra::{Point3, Vector3};

use super::keys::{KeyTable, may, must};
use super::table::{Table, named, told};
use super::value::{choice, date, extent, length, list, point, size, text, vehicle_direction, words};
use super::{Cx, Named};
use crate::scene::error::Fault;
use crate::scene::read::{Node, NodeKind, Place};
use crate::space::{Direction, LengthUnit};
use crate::survey::network::How;

/// A survey.
pub(crate) const SURVEY: KeyTable = KeyTable {
    title: "a survey",
    intro: "Measured points. Marks come from a CSV file, from `marks` and `tape` here, or both; a scan's points come from a PLY, STL or OBJ file.",
    keys: &[
        may(
            "file",
            "path",
            "none",
            "surveys/stand.csv",
            "CSV of marks or tape distances; for a scan its file.",
        ),
        may(
            "marks",
            "map from name to point",
            "none",
            "{D1: [0, 0, 0], D2: {at: [812, 3, 1], sigma: 1}}",
            "Marks written here, in the survey's own axes.",
        ),
        may(
            "tape",
            "list of tape distances",
            "none",
            "[{mark: P1, from: D1, distance: 512}]",
            "Distances written here; each mark needs three, from marks that are known.",
        ),
        must(
            "instrument",
            "name of an instrument",
            "tape",
            "What it was measured with: `tape`, `probe`, `scan`, another of the library's, or one under `instruments`.",
        ),
        may("date", "date", "not known", "2026-03-14", "When."),
        may(
            "units",
            "`mm`, `cm`, `m`, `in` or `ft`",
            "the `units` of this file",
            "mm",
            "What a bare number of the survey's file means.",
        ),
        may(
            "sigma",
            "length",
            "the instrument's",
            "1.5",
            "Standard uncertainty of a reading where its row gives none, nor an instrument of its own.",
        ),
        may(
            "tip",
            "length",
            "the instrument's",
            "6",
            "Diameter of the probe's ball, when the file holds ball centres.",
        ),
        may(
            "spread",
            "length, or map from mark to length",
            "0: this one vehicle only",
            "{J1: 2.1, J2: 1.4}",
            "Standard deviation, from vehicle to vehicle, of where marked things stand. A fitted body takes the greatest of its marks'. `baywright jig --into` writes it.",
        ),
        may(
            "align",
            "alignment",
            "it is in vehicle axes",
            "{plane: {...}, line: {...}, origin: {...}}",
            "How the survey's axes lie in the vehicle's.",
        ),
    ],
};

/// A mark that says more than its place.
pub(crate) const MARK: KeyTable = KeyTable {
    title: "a mark",
    intro: "In place of `[x, y, z]`.",
    keys: &[
        must("at", "point", "[812, 3, 1]", "Where, in the survey's axes."),
        may("sigma", "length", "the survey's", "1", "Its own standard uncertainty."),
    ],
};

/// A tape distance.
pub(crate) const TAPE: KeyTable = KeyTable {
    title: "a tape distance",
    intro: "From a mark that is known to one that is looked for.",
    keys: &[
        must("mark", "name", "P1", "The mark looked for."),
        may(
            "from",
            "name of a mark",
            "none, where `how` needs none",
            "D1",
            "Where the tape was hooked; the marks of a panel or an edge joined by `+`.",
        ),
        may("distance", "length", "none, for `plumb` and `level`", "512", "What it read."),
        may(
            "how",
            "way of measuring",
            "straight",
            "square",
            "`straight`, `near`, `far`, `square`, `edge`, `plumb`, `level`, `diameter`, `wrap`, or a direction: how far up, right, ...",
        ),
        may(
            "hook",
            "length",
            "0",
            "1.5",
            "Added to what was read: the hook's thickness; below zero for a piece cut off.",
        ),
        may("thickness", "length", "0", "0.3", "Thickness of a tape that is wrapped round."),
        may("sigma", "length", "the survey's", "2", "Its own standard uncertainty."),
        may(
            "side",
            "direction word",
            "none",
            "up",
            "On which side of the marks it was measured from; three distances leave two places.",
        ),
    ],
};

/// An alignment.
pub(crate) const ALIGN: KeyTable = KeyTable {
    title: "an alignment",
    intro: "Either `plane`, `line` and `origin` (three marks, two marks, one mark), or `points`: marks whose places in vehicle axes are known.",
    keys: &[
        may(
            "plane",
            "datum plane",
            "with `line` and `origin`",
            "{marks: [D1, D2, D3], normal: up, at: 0}",
            "Three marks or more in a plane of the vehicle.",
        ),
        may(
            "line",
            "datum line",
            "with `plane` and `origin`",
            "{marks: [D1, D2], along: rearward}",
            "Two marks or more along a line of the vehicle.",
        ),
        may(
            "origin",
            "datum origin",
            "with `plane` and `line`",
            "{mark: D1, at: [0, 0, 0]}",
            "One mark whose place is known.",
        ),
        may(
            "points",
            "map from mark to point",
            "instead of the others",
            "{D1: [0, 0, 0], D2: [800, 0, 0], D3: [0, 500, 0]}",
            "Three marks or more by their places in vehicle axes; best fit.",
        ),
    ],
};

/// A datum plane.
pub(crate) const PLANE: KeyTable = KeyTable {
    title: "a datum plane",
    intro: "",
    keys: &[
        must("marks", "list of marks", "[D1, D2, D3]", "In the plane, spread wide."),
        must("normal", "direction", "up", "Its normal, in vehicle axes."),
        may("at", "length", "by the origin mark", "0", "Its place along the normal."),
        may(
            "toward",
            "name of a mark",
            "the side on which the survey's own axes agree",
            "T1",
            "A mark well off the plane, on the side to which the normal points.",
        ),
    ],
};

/// A datum line.
pub(crate) const LINE: KeyTable = KeyTable {
    title: "a datum line",
    intro: "",
    keys: &[
        must("marks", "list of marks", "[D1, D2]", "Along the line, in order."),
        must("along", "direction", "rearward", "From the first toward the last, in vehicle axes."),
        may("at", "length", "by the origin mark", "0", "Its place sideways: along normal x along."),
    ],
};

/// A datum origin.
pub(crate) const ORIGIN: KeyTable = KeyTable {
    title: "a datum origin",
    intro: "",
    keys: &[
        must("mark", "name of a mark", "D1", "The mark."),
        must(
            "at",
            "point",
            "[0, 0, 0]",
            "Its place in vehicle axes; what plane and line fix is not taken from it.",
        ),
    ],
};

/// A survey as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenSurvey {
    pub name: Named,
    pub readings: WrittenReadings,
    pub instrument: Named,
    pub date: Option<String>,
    pub unit: LengthUnit,
    pub sigma_mm: Option<f64>,
    pub tip_mm: Option<f64>,
    pub align: Option<WrittenAlign>,
    pub spread: WrittenSpread,
    pub place: Place,
}

/// How far marked things stray from vehicle to vehicle, mm.
#[derive(Clone, Debug, Default)]
#[allow(missing_docs)]
pub(crate) struct WrittenSpread {
    /// Where a mark has none of its own.
    pub all_mm: f64,
    pub by_mark: Vec<(Named, f64)>,
}

impl WrittenSpread {
    /// The greatest of these marks', mm.
    pub fn greatest_mm<'a>(&self, marks: impl IntoIterator<Item = &'a str>) -> f64 {
        let of = |mark: &str| {
            let own = self.by_mark.iter().find(|(name, _)| name.text == mark);
            own.map_or(self.all_mm, |(_, mm)| *mm)
        };
        marks.into_iter().map(of).fold(0.0, f64::max)
    }
}

/// Where a survey's readings are.
#[derive(Clone, Debug, Default)]
#[allow(missing_docs)]
pub(crate) struct WrittenReadings {
    pub file: Option<Named>,
    pub marks: Vec<WrittenMark>,
    pub tape: Vec<WrittenTape>,
}

/// A mark as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenMark {
    pub name: Named,
    pub at: Point3<f64>,
    pub sigma_mm: Option<f64>,
}

/// A tape distance as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenTape {
    pub mark: Named,
    pub from: Place,
    pub how: How,
    pub distance_mm: f64,
    pub hook_mm: f64,
    pub sigma_mm: Option<f64>,
    pub side: Option<Direction>,
}

/// An alignment as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) enum WrittenAlign {
    ThreeTwoOne {
        plane: Box<WrittenDatum>,
        toward: Option<Named>,
        line: Box<WrittenDatum>,
        origin: (Named, Point3<f64>),
        place: Place,
    },
    Points(Vec<(Named, Point3<f64>)>, Place),
}

/// A plane or line of an alignment.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenDatum {
    pub marks: Vec<Named>,
    pub direction: Vector3<f64>,
    pub at_mm: Option<f64>,
}

pub(super) fn survey(cx: &Cx<'_>, name: Named, node: &Node) -> Option<WrittenSurvey> {
    let table = Table::open(cx, node, &SURVEY)?;
    let unit = match table.get("units") {
        Some(node) => choice(cx, node, "a unit of length", &["mm", "cm", "m", "in", "ft"])
            .and_then(|word| LengthUnit::from_word(&word)),
        None => Some(cx.units),
    };
    let instrument =
        table.get("instrument").and_then(|node| text(cx, node, "an instrument", "`instrument: tape`"));
    let day = table.get("date").and_then(|node| date(cx, node));
    let sigma = match table.get("sigma") {
        Some(node) => size(cx, node, "`sigma`").map(Some),
        None => Some(None),
    };
    let tip = table.get("tip").and_then(|node| extent(cx, node, "`tip`"));
    let mut readings = WrittenReadings {
        file: table
            .get("file")
            .and_then(|node| text(cx, node, "`file`", "a path such as `surveys/stand.csv`")),
        ..WrittenReadings::default()
    };
    if let Some(node) = table.get("marks") {
        readings.marks =
            named(cx, node, "marks").into_iter().filter_map(|(name, node)| mark(cx, name, node)).collect();
    }
    if let Some(node) = table.get("tape") {
        let nodes =
            list(cx, node, "`tape`", "`- {mark: P1, from: D1, distance: 512}` lines").unwrap_or_default();
        readings.tape = nodes.into_iter().filter_map(|node| tape(cx, node)).collect();
    }
    if !table.has("file") && !table.has("marks") {
        let (of, choices, given) = ("a survey".to_owned(), vec!["file", "marks"], Vec::new());
        cx.faults.add(table.place.clone(), Fault::OneOf { of, choices, given });
    }
    let align = match table.get("align") {
        Some(node) => Some(align(cx, node)?),
        None => None,
    };
    Some(WrittenSurvey {
        name,
        readings,
        instrument: instrument?,
        date: day,
        unit: unit?,
        sigma_mm: sigma?,
        tip_mm: tip,
        align,
        spread: table.get("spread").map(|node| spread(cx, node)).unwrap_or_default(),
        place: node.real().place.clone(),
    })
}

fn spread(cx: &Cx<'_>, node: &Node) -> WrittenSpread {
    if let NodeKind::Map(..) = node.real().kind {
        let each = named(cx, node, "spread").into_iter();
        let by_mark = each.filter_map(|(name, node)| Some((name, extent(cx, node, "a spread")?))).collect();
        return WrittenSpread { all_mm: 0.0, by_mark };
    }
    WrittenSpread { all_mm: extent(cx, node, "`spread`").unwrap_or(0.0), by_mark: Vec::new() }
}

fn mark(cx: &Cx<'_>, name: Named, node: &Node) -> Option<WrittenMark> {
    if let NodeKind::List(..) = node.real().kind {
        return Some(WrittenMark { name, at: point(cx, node, "a mark")?, sigma_mm: None });
    }
    if node.scalar().is_some() || node.is_nothing() {
        let (found, example) = (told(node.real()), "`[x, y, z]` or `{at: [x, y, z], sigma: 1}`");
        cx.add(node.real(), Fault::WrongKind { what: "a mark".into(), found, expected: "a point", example });
        return None;
    }
    let table = Table::open(cx, node, &MARK)?;
    let at = table.get("at").and_then(|node| point(cx, node, "a mark"));
    let sigma_mm = table.get("sigma").and_then(|node| size(cx, node, "`sigma`"));
    Some(WrittenMark { name, at: at?, sigma_mm })
}

fn tape(cx: &Cx<'_>, node: &Node) -> Option<WrittenTape> {
    let table = Table::open(cx, node, &TAPE)?;
    let word =
        |key: &'static str| table.get(key).and_then(|node| text(cx, node, "a mark", "the name of a mark"));
    let mark = word("mark");
    let from = if table.has("from") { Some(word("from")?) } else { None };
    let from_place = from.as_ref().map_or_else(|| table.place.clone(), |from| from.place.clone());
    let optional = |key: &'static str| match table.get(key) {
        Some(node) => length(cx, node, &format!("`{key}`")).map(Some),
        None => Some(None),
    };
    let told = match table.get("how") {
        Some(node) => Some(choice(cx, node, "a way of measuring", &How::words().collect::<Vec<_>>())?),
        None => None,
    };
    let thickness = optional("thickness")?.unwrap_or(0.0);
    let whole = from.as_ref().map_or("", |from| from.text.as_str());
    if from.is_none() && told.is_none() {
        let (key, of, example) = ("from", TAPE.title.to_owned(), "from: D1".to_owned());
        cx.faults.add(table.place.clone(), Fault::MissingKey { key, of, example });
        return None;
    }
    let how = match How::from_words(told.as_deref().unwrap_or("straight"), whole, thickness) {
        Ok(how) => how,
        Err(why) => {
            cx.faults.add(from_place, Fault::Reading { what: "this distance", why: why.to_string() });
            return None;
        }
    };
    if how.has_length() && !table.has("distance") {
        let (key, of, example) = ("distance", TAPE.title.to_owned(), "distance: 512".to_owned());
        cx.faults.add(table.place.clone(), Fault::MissingKey { key, of, example });
    }
    let distance = match table.get("distance") {
        Some(node) if how.may_be_below_zero() => length(cx, node, "the distance"),
        Some(node) => size(cx, node, "the distance"),
        None => (!how.has_length()).then_some(0.0),
    };
    let hook_mm = optional("hook")?.unwrap_or(0.0);
    let sigma_mm = table.get("sigma").and_then(|node| size(cx, node, "`sigma`"));
    let known: Vec<&str> = Direction::ALL.iter().map(|direction| direction.word()).collect();
    let side = table.get("side").and_then(|node| choice(cx, node, "a direction", &known));
    let mark = mark?;
    if let Some(from) = &from {
        super::value::differ(cx, &mark, from);
    }
    let side = side.and_then(|word| Direction::from_word(&word));
    Some(WrittenTape { mark, from: from_place, how, distance_mm: distance?, hook_mm, sigma_mm, side })
}

fn align(cx: &Cx<'_>, node: &Node) -> Option<WrittenAlign> {
    let table = Table::open(cx, node, &ALIGN)?;
    let place = node.real().place.clone();
    for key in ["plane", "line", "origin"] {
        table.exclude(cx, "points", key, "keep `points` alone, or `plane`, `line` and `origin`");
    }
    if let Some(node) = table.get("points") {
        let points = named(cx, node, "points").into_iter().filter_map(|(name, node)| {
            let at = point(cx, node, "a place in vehicle axes")?;
            Some((name, at))
        });
        return Some(WrittenAlign::Points(points.collect(), place));
    }
    for (key, example) in [
        ("plane", "plane: {marks: [D1, D2, D3], normal: up, at: 0}"),
        ("line", "line: {marks: [D1, D2], along: rearward}"),
        ("origin", "origin: {mark: D1, at: [0, 0, 0]}"),
    ] {
        if !table.has(key) {
            let (of, example) = ("an alignment".to_owned(), example.to_owned());
            cx.faults.add(table.place.clone(), Fault::MissingKey { key, of, example });
        }
    }
    let plane_table = table.get("plane").and_then(|node| Table::open(cx, node, &PLANE));
    let line_table = table.get("line").and_then(|node| Table::open(cx, node, &LINE));
    let plane = plane_table.as_ref().and_then(|table| datum(cx, table, "normal"));
    let line = line_table.as_ref().and_then(|table| datum(cx, table, "along"));
    let origin = table.get("origin").and_then(|node| {
        let table = Table::open(cx, node, &ORIGIN)?;
        let mark = table.get("mark").and_then(|node| text(cx, node, "a mark", "`mark: D1`"));
        let at = table.get("at").and_then(|node| point(cx, node, "`at`"));
        Some((mark?, at?))
    });
    let toward = plane_table
        .as_ref()
        .and_then(|table| table.get("toward"))
        .and_then(|node| text(cx, node, "a mark", "`toward: T1`"));
    Some(WrittenAlign::ThreeTwoOne {
        plane: Box::new(plane?),
        toward,
        line: Box::new(line?),
        origin: origin?,
        place,
    })
}

fn datum(cx: &Cx<'_>, table: &Table<'_>, direction: &'static str) -> Option<WrittenDatum> {
    let marks = table.get("marks").map(|node| words(cx, node, "a mark", "`[D1, D2, D3]`"));
    let toward = table.get(direction).and_then(|node| vehicle_direction(cx, node, &format!("`{direction}`")));
    let at = match table.get("at") {
        Some(node) => Some(length(cx, node, "`at`")?),
        None => None,
    };
    Some(WrittenDatum { marks: marks?, direction: toward?, at_mm: at })
}
