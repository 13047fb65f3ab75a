//! The top of a file.

use std::rc::Rc;

use super::keys::{Key, KeyTable, may, must};
use super::table::{Table, named};
use super::value::{choice, date, list, text};
use super::*;
use crate::scene::error::{Fault, Faults};
use crate::scene::read::Node;
use crate::scene::{Note, ServiceTool};
use crate::space::LengthUnit;
use crate::tube::{Bender, StockBend};

/// The version of the format that this build reads.
pub(crate) const VERSION: u32 = 1;

const TOP: &[Key] = &[
    must("baywright", "version", "1", "Version of the format."),
    may("title", "text", "none", "van, second turbo", "What the scene is of."),
    may("units", "`mm`, `cm`, `m`, `in` or `ft`", "`mm`", "mm", "What a bare number means in this file."),
    may(
        "notes",
        "list of notes",
        "none",
        "[{author: bench 2, date: 2026-03-14, text: as found}]",
        "Remarks, in order.",
    ),
    may(
        "include",
        "list of paths",
        "none",
        "[house:rules/common, parts/bracket.yaml]",
        "Files whose content is read as if it stood here: `house:NAME` from the built-in library, else a path beside this file.",
    ),
    may(
        "scripts",
        "list of paths",
        "none",
        "[scripts/first-position.rhai]",
        "Scripts that belong to the scene and travel with it when it is packed; reading the scene runs none.",
    ),
    may("surveys", "map of surveys", "none", "{stand: {file: stand.csv}}", "Measured points."),
    may(
        "carriers",
        "map of carriers",
        "`chassis` alone",
        "{hood: {hinge: {...}}}",
        "What bodies move with; `chassis`, which stands still, is always there.",
    ),
    may(
        "frames",
        "map of frames",
        "none",
        "{block-face: {on: block, at: [0, 120, 40]}}",
        "Named places that other things stand on.",
    ),
    may("bodies", "map of bodies", "none", "{battery: {shape: {box: [242, 175, 190]}}}", "The solid things."),
    may(
        "roles",
        "map from word to text",
        "none",
        "{airbox: intake plastic}",
        "Roles of the scene's own, beside those of the library.",
    ),
    may(
        "rules",
        "list of room rules",
        "none",
        "[{between: [hot, hose], least: 25, because: it cooks}]",
        "Least gaps. A later rule between the same two sides replaces an earlier one. A rule by a body's name outranks those by role; of several by role that a pair's roles call up, the greatest gap is asked.",
    ),
    may(
        "joined",
        "list of joined pairs",
        "none",
        "[{bodies: [turbo, bracket], by: four studs}]",
        "Bodies that touch because they are fastened.",
    ),
    may(
        "people",
        "map",
        "none",
        "{standing: {front: {shoulder: [0, 0, 1300], reach: women-p5-grip}}}",
        "Where people stand and how far they reach.",
    ),
    may(
        "openings",
        "map of openings",
        "the library's",
        "{my-fist: {diameter: 105, source: measured}}",
        "Named opening sizes, beside those of the library.",
    ),
    may(
        "materials",
        "map of materials",
        "the library's",
        "{slate: {density: 2700, source: measured}}",
        "Materials, beside those of the library.",
    ),
    may(
        "instruments",
        "map of instruments",
        "the library's",
        "{our-tape: {kind: tape, sigma: 1, source: measured}}",
        "Measuring instruments, beside those of the library.",
    ),
    may(
        "benders",
        "map of benders",
        "the library's",
        "{our-bender: {dies: [...]}}",
        "Benders, beside those of the library.",
    ),
    may(
        "stock_bends",
        "map of stock bends",
        "the library's",
        "{shelf-90: {diameter: 63.5, ...}}",
        "Ready-made bends, beside those of the library.",
    ),
    may(
        "service",
        "map of service points",
        "none",
        "{filler: {pour: {body: tank}}}",
        "What people must see, touch, turn, pull, pour into, unplug, unscrew or lift out.",
    ),
    may(
        "tools",
        "map of tools",
        "the library's",
        "{our-ring-13: {fits: [13], ...}}",
        "Tools, beside those of the library.",
    ),
    may(
        "kit",
        "list of names of bodies",
        "all candidates",
        "[turbo, hot-pipe]",
        "The parts that `baywright order` mounts, first thoughts first. Bodies that a script places may be named.",
    ),
    may(
        "step_times",
        "map of step times",
        "the library's",
        "{v-band: {minutes: 5, source: timed here}}",
        "How long steps of mounting take, beside those of the library.",
    ),
];

/// The top of a scene file.
pub(crate) const SCENE: KeyTable = KeyTable {
    title: "a scene",
    intro: "The top of a scene file, and of every file that a scene includes (there, `baywright` may be left out).",
    keys: TOP,
};

/// The top of an included file: the same keys, none needed.
pub(crate) const INCLUDED: KeyTable = KeyTable {
    title: "an included file",
    intro: "",
    keys: &[
        may("baywright", "", "", "1", ""),
        TOP[1],
        TOP[2],
        TOP[3],
        TOP[4],
        TOP[5],
        TOP[6],
        TOP[7],
        TOP[8],
        TOP[9],
        TOP[10],
        TOP[11],
        TOP[12],
        TOP[13],
        TOP[14],
        TOP[15],
        TOP[16],
        TOP[17],
        TOP[18],
        TOP[19],
        TOP[20],
        TOP[21],
        TOP[22],
    ],
};

/// A note.
pub(crate) const NOTE: KeyTable = KeyTable {
    title: "a note",
    intro: "A remark by a person. Author and date are what the file says; nothing checks them.",
    keys: &[
        must("author", "text", "bench 2", "Who."),
        must("date", "date", "2026-03-14", "When: year, month, day."),
        must("text", "text", "measured with the hood off", "What."),
    ],
};

/// All that one file says.
#[derive(Default)]
#[allow(missing_docs)]
pub(crate) struct Written {
    pub title: Option<String>,
    pub notes: Vec<Note>,
    pub include: Vec<Named>,
    pub scripts: Vec<Named>,
    pub units: LengthUnit,
    pub surveys: Vec<WrittenSurvey>,
    pub carriers: Vec<WrittenCarrier>,
    pub frames: Vec<WrittenFrame>,
    pub bodies: Vec<WrittenBody>,
    pub roles: Vec<WrittenRole>,
    pub rules: Vec<WrittenRule>,
    pub joined: Vec<WrittenJoined>,
    pub standing: Vec<WrittenStanding>,
    pub reaches: Vec<WrittenReach>,
    pub openings: Vec<WrittenOpening>,
    pub materials: Vec<WrittenMaterial>,
    pub instruments: Vec<WrittenInstrument>,
    pub benders: Vec<Bender>,
    pub stock_bends: Vec<StockBend>,
    pub service: Vec<WrittenService>,
    pub tools: Vec<ServiceTool>,
    pub hood_open: Option<crate::space::Angle>,
    pub gloved: Option<bool>,
    pub kit: Vec<Named>,
    pub step_times: Vec<WrittenStepTime>,
    /// Every name that is given, so that one whose value has a fault is not called unknown as well.
    pub declared: Vec<(&'static str, Named)>,
}

/// Units of a file, which must be known before anything else is read.
fn units(cx: &Cx<'_>, root: &Node) -> LengthUnit {
    let Some(entry) = root.get("units") else { return LengthUnit::Millimetre };
    let word = choice(cx, &entry.value, "a unit of length", &["mm", "cm", "m", "in", "ft"]);
    word.and_then(|word| LengthUnit::from_word(&word)).unwrap_or_default()
}

/// Decodes a whole file. `included` files need no version.
pub(crate) fn document(faults: &Faults, root: &Node, included: bool) -> Written {
    let mut out = Written::default();
    let cx = Cx { faults, units: units(&Cx { faults, units: LengthUnit::Millimetre }, root) };
    out.units = cx.units;
    let Some(table) = Table::open(&cx, root, if included { &INCLUDED } else { &SCENE }) else { return out };

    if let Some(node) = table.get("baywright")
        && node.scalar() != Some("1")
    {
        let found = super::table::told(node.real()).trim_matches('`').to_owned();
        cx.add(node.real(), Fault::Version { found, known: VERSION });
    }
    if let Some(node) = table.get("title") {
        out.title = text(&cx, node, "the title", "`title: van, second turbo`").map(|title| title.text);
    }
    let items = |key: &str, what: &str, example: &'static str| {
        table.get(key).and_then(|node| list(&cx, node, what, example)).unwrap_or_default()
    };
    for node in items("notes", "`notes`", "`- {author: ..., date: ..., text: ...}` lines") {
        out.notes.extend(note(&cx, node));
    }
    for node in items("include", "`include`", "`[house:rules/common, parts/bracket.yaml]`") {
        out.include.extend(text(&cx, node, "a path", "`parts/bracket.yaml`"));
    }
    for node in items("scripts", "`scripts`", "`[scripts/first-position.rhai]`") {
        out.scripts.extend(text(&cx, node, "a path", "`scripts/first-position.rhai`"));
    }
    for node in items("rules", "`rules`", "`- {between: [hot, hose], least: 25, because: ...}` lines") {
        out.rules.extend(rule::rule(&cx, node));
    }
    for node in items("joined", "`joined`", "`- {bodies: [turbo, bracket], by: four studs}` lines") {
        out.joined.extend(rule::joined(&cx, node));
    }
    for node in items("kit", "`kit`", "`[turbo, hot-pipe]`") {
        out.kit.extend(text(&cx, node, "a part of the kit", "`turbo`"));
    }
    let mut names = |key: &'static str| {
        let names = table.get(key).map(|node| named(&cx, node, key)).unwrap_or_default();
        out.declared.extend(names.iter().map(|(name, _)| (key, name.clone())));
        names
    };
    let (surveys, carriers, frames, bodies) =
        (names("surveys"), names("carriers"), names("frames"), names("bodies"));
    let (benders, stock_bends) = (names("benders"), names("stock_bends"));
    let (roles, openings, materials, service) =
        (names("roles"), names("openings"), names("materials"), names("service"));
    let named_tools = names("tools");
    let step_times = names("step_times");
    let instruments = names("instruments");
    out.surveys = each(surveys, |name, node| survey::survey(&cx, name, node));
    out.carriers = each(carriers, |name, node| carrier::carrier(&cx, name, node));
    out.frames = each(frames, |name, node| frame::frame(&cx, name, node));
    out.bodies = each(bodies, |name, node| body::body(&cx, name, node));
    out.roles = each(roles, |name, node| rule::role(&cx, name, node));
    out.openings = each(openings, |name, node| people::opening(&cx, name, node));
    out.materials = each(materials, |name, node| material::material(&cx, name, node));
    out.instruments = each(instruments, |name, node| instrument::instrument(&cx, name, node));
    out.benders = each(benders, |name, node| bender::bender(&cx, name, node));
    out.stock_bends = each(stock_bends, |name, node| bender::stock_bend(&cx, name, node));
    out.tools = each(named_tools, |name, node| tool::tool(&cx, name, node));
    out.step_times = each(step_times, |name, node| kit::step_time(&cx, name, node));
    out.service = each(service, |name, node| service::service(&cx, name, node));
    if let Some(node) = table.get("people") {
        people::people(&cx, node, &mut out);
    }
    out
}

fn each<T>(names: Vec<(Named, &Rc<Node>)>, one: impl Fn(Named, &Node) -> Option<T>) -> Vec<T> {
    names.into_iter().filter_map(|(name, node)| one(name, node)).collect()
}

fn note(cx: &Cx<'_>, node: &Node) -> Option<Note> {
    let table = Table::open(cx, node, &NOTE)?;
    let author = table.get("author").and_then(|node| text(cx, node, "the author", "`author: bench 2`"));
    let day = table.get("date").and_then(|node| date(cx, node));
    let words = table.get("text").and_then(|node| text(cx, node, "the note", "`text: as found`"));
    Some(Note { author: author?.text, date: day?, text: words?.text })
}
