//! Bodies.

use super::fit::{WrittenFit, fit};
use super::flow::flow;
use super::frame::{AT, AXIS, CARRIED_BY, ON, TURN, WrittenPose, carried_by, pose};
use super::hoist::{hoist, mass};
use super::keys::{KeyTable, may, one_of};
use super::shape::{WrittenShape, shape};
use super::table::Table;
use super::value::{extent, flag, number, small_angle, text, words};
use super::{Cx, Named};
use crate::scene::error::Fault;
use crate::scene::read::{Node, Place};
use crate::scene::{Hoist, TubeFlow};

/// A body.
pub(crate) const BODY: KeyTable = KeyTable {
    title: "a body",
    intro: "A solid thing: what it is like, where it is, what it is.",
    keys: &[
        one_of("`shape`, `fit`", "shape", "shape", "{box: [242, 175, 190]}", "Its shape, in its own frame."),
        one_of(
            "`shape`, `fit`",
            "fit",
            "fit",
            "{cylinder: {survey: stand, marks: [N1, N2, N3, N4, N5]}}",
            "Marks of a survey that it is made from.",
        ),
        ON,
        AT,
        TURN,
        AXIS,
        CARRIED_BY,
        may(
            "role",
            "role, or a list of them",
            "none",
            "[panel, chassis]",
            "What room rules know it as; the first is its main one.",
        ),
        may("material", "name of a material", "not known", "mild-steel", "What it is made of."),
        may(
            "mass",
            "number",
            "its shape's volume by its material's density",
            "27.5",
            "What it weighs, kg; over a limit it must come in by a straight lift.",
        ),
        may(
            "hoist",
            "a hoist point",
            "held by hands",
            "{at: [0, 0, 95], room: 120}",
            "Where a hook lifts it when it is too heavy for hands.",
        ),
        may(
            "bent_by",
            "name of a bender, or `stock`",
            "not asked",
            "mandrel-rotary",
            "What bends the tube; the check then says what cannot be made so. `stock`: ready-made bends, cut and welded.",
        ),
        may(
            "hot_to",
            "number",
            "not hot",
            "550",
            "How hot a tube's metal gets, deg C; its growth then counts in every gap and joint.",
        ),
        may(
            "flow",
            "a flow",
            "not asked",
            "{of: air, kg_per_s: 0.3, temperature: 60, pressure: 250}",
            "What flows through the tube; the check then gives velocity and pressure loss.",
        ),
        may("kept", "`true` or `false`", "`false`", "true", "Factory equipment that must stay where it is."),
        may(
            "may_move",
            "text",
            "it may not",
            "the job replaces its bracket",
            "Why a kept body may be moved or taken out all the same.",
        ),
        may("candidate", "`true` or `false`", "`false`", "true", "A part being tried."),
        may("wrap", "length", "0", "6", "Thickness of heat wrap; counts in every gap."),
        may("coating", "length", "0", "0.2", "Thickness of a coating; counts in every gap."),
        may("sheath", "length", "0", "1.5", "Thickness of a sheath; counts in every gap."),
        may("sigma", "length", "0", "1.5", "Standard uncertainty of where its origin is, each axis."),
        may("sigma_turn", "angle", "0", "0.2 deg", "Standard uncertainty of its turn, about each axis."),
        may(
            "sigma_surface",
            "length",
            "0",
            "0.5",
            "Standard uncertainty of the surface itself: form, thickness.",
        ),
        may(
            "spread",
            "length",
            "that of its survey's marks, else 0",
            "2.1",
            "Standard deviation, from vehicle to vehicle, of where it stands; counts in every gap.",
        ),
    ],
};

/// A body as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenBody {
    pub name: Named,
    pub form: WrittenForm,
    /// Where its shape or fit is written.
    pub form_place: Place,
    pub pose: WrittenPose,
    pub carried_by: Option<Named>,
    pub roles: Vec<Named>,
    pub material: Option<Named>,
    pub mass_kg: Option<f64>,
    pub hoist: Option<Hoist>,
    pub bent_by: Option<Named>,
    pub hot_c: Option<f64>,
    pub flow: Option<TubeFlow>,
    pub kept: bool,
    pub may_move: Option<String>,
    pub candidate: bool,
    pub cover_mm: f64,
    pub sigma_mm: f64,
    pub sigma_turn_rad: f64,
    pub sigma_surface_mm: f64,
    /// From vehicle to vehicle, mm; `None` takes the survey's.
    pub spread_mm: Option<f64>,
}

/// What a body is made from.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) enum WrittenForm {
    Shape(WrittenShape),
    Fit(WrittenFit),
    /// It has a fault that was told; it still bears its name.
    Faulty,
}

pub(super) fn body(cx: &Cx<'_>, name: Named, node: &Node) -> Option<WrittenBody> {
    let Some(table) = Table::open(cx, node, &BODY) else {
        return Some(WrittenBody::faulty(name, node.real().place.clone()));
    };
    let form = match (table.get("shape"), table.get("fit")) {
        (Some(node), None) => shape(cx, node).map(WrittenForm::Shape),
        (None, Some(node)) => fit(cx, node).map(WrittenForm::Fit),
        _ => None,
    };
    if table.has("fit") {
        for key in ["on", "at", "turn", "axis", "sigma", "sigma_turn", "sigma_surface"] {
            if let Some(place) = table.key_place(key) {
                let remedy = "the marks place a fitted body and say how well; delete the key";
                cx.faults.add(place, Fault::Conflict { one: "fit", other: key_of(key), remedy });
            }
        }
    }
    let truth = |key: &'static str| {
        table.get(key).and_then(|node| flag(cx, node, &format!("`{key}`"))).unwrap_or_default()
    };
    let mm = |key: &'static str| {
        table.get(key).and_then(|node| extent(cx, node, &format!("`{key}`"))).unwrap_or_default()
    };
    let sigma_turn = table.get("sigma_turn").and_then(|node| small_angle(cx, node, "`sigma_turn`"));
    let form_place =
        table.get("shape").or(table.get("fit")).map_or(table.place.clone(), |n| n.real().place.clone());
    Some(WrittenBody {
        form: form.unwrap_or(WrittenForm::Faulty),
        form_place,
        pose: pose(cx, &table),
        carried_by: carried_by(cx, &table),
        roles: table.get("role").map(|node| words(cx, node, "a role", "`role: hot`")).unwrap_or_default(),
        material: table.get("material").and_then(|node| text(cx, node, "the material", "`mild-steel`")),
        mass_kg: table.get("mass").and_then(|node| mass(cx, node)),
        hoist: table.get("hoist").and_then(|node| hoist(cx, node)),
        bent_by: table
            .get("bent_by")
            .and_then(|node| text(cx, node, "`bent_by`", "`bent_by: mandrel-rotary`")),
        hot_c: table.get("hot_to").and_then(|node| hot(cx, node)),
        flow: table.get("flow").and_then(|node| flow(cx, node)),
        kept: truth("kept"),
        may_move: table
            .get("may_move")
            .and_then(|node| text(cx, node, "`may_move`", "`may_move: the job replaces its bracket`"))
            .map(|why| why.text),
        candidate: truth("candidate"),
        cover_mm: mm("wrap") + mm("coating") + mm("sheath"),
        sigma_mm: mm("sigma"),
        sigma_turn_rad: sigma_turn.unwrap_or(0.0),
        sigma_surface_mm: mm("sigma_surface"),
        spread_mm: table.has("spread").then(|| mm("spread")),
        name,
    })
}

/// A temperature of metal, deg C: no tube of a vehicle is colder than the coldest night or hotter than steel's melting.
fn hot(cx: &Cx<'_>, node: &Node) -> Option<f64> {
    let degrees = number(cx, node, "`hot_to`")?;
    if (-60.0..=1200.0).contains(&degrees) {
        return Some(degrees);
    }
    let fault = Fault::Range {
        what: "`hot_to`".into(),
        found: degrees.to_string(),
        limit: "it must lie within -60 and 1200 deg C".into(),
        remedy: "write the temperature of the metal in deg C, such as `hot_to: 550`",
    };
    cx.add(node.real(), fault);
    None
}

fn key_of(key: &str) -> &'static str {
    BODY.names().find(|known| *known == key).unwrap_or("at")
}

impl WrittenBody {
    /// A body of which nothing but the name could be read.
    fn faulty(name: Named, place: Place) -> Self {
        WrittenBody {
            name,
            form: WrittenForm::Faulty,
            form_place: place,
            pose: WrittenPose::default(),
            carried_by: None,
            roles: Vec::new(),
            material: None,
            mass_kg: None,
            hoist: None,
            bent_by: None,
            hot_c: None,
            flow: None,
            kept: false,
            may_move: None,
            candidate: false,
            cover_mm: 0.0,
            sigma_mm: 0.0,
            sigma_turn_rad: 0.0,
            sigma_surface_mm: 0.0,
            spread_mm: None,
        }
    }
}
