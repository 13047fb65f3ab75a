//! The field sheet: a form for the next measuring session, as Markdown and as leaves of paper.

use std::fmt::Write as _;

use nalgebra::{Point2, Point3};

use crate::check::SessionReading;
use crate::scene::{Scene, SurveyRead};
use crate::space::LengthUnit;
use crate::tube::{Leaf, Paper, leaf_size_mm};

use super::table::wrapped_to;

/// What the form says.
#[derive(Clone, Copy, Debug)]
pub struct FieldSheet<'a> {
    /// The scene.
    pub scene: &'a Scene,
    /// The survey that the readings go into.
    pub survey: &'a SurveyRead,
    /// Readings to take, the most useful first.
    pub readings: &'a [SessionReading],
    /// Readings of each: three are common practice, no source.
    pub times: u32,
}

/// What can hurt whoever measures round a vehicle.
pub const MEASURING_CAUTIONS: [&str; 3] = [
    "Engine off and cold, key out, battery disconnected; coolant and fuel lines may hold pressure.",
    "A raised vehicle stands on stands rated for it, on level ground, wheels chocked; a hood or a hung engine is held \
     by more than what lifts it.",
    "Airbags, high voltage and air conditioning are for licensed people. Follow the maker's instructions and your local codes.",
];

/// The word of a unit.
pub fn unit_word(unit: LengthUnit) -> &'static str {
    match unit {
        LengthUnit::Millimetre => "mm",
        _ => ["cm", "m", "in", "ft"]
            .into_iter()
            .find(|word| LengthUnit::from_word(word) == Some(unit))
            .unwrap_or("mm"),
    }
}

impl FieldSheet<'_> {
    fn heading(&self) -> String {
        let title = if self.scene.title.is_empty() { "untitled scene" } else { &self.scene.title };
        format!("Field sheet: {title}, survey {}", self.survey.name)
    }

    fn how_to(&self) -> Vec<String> {
        let unit = unit_word(self.survey.unit);
        vec![
            format!(
                "Instrument last time: {}, one sigma {:.2} mm. Write what is used now beside its readings.",
                self.survey.instrument, self.survey.sigma_mm
            ),
            format!(
                "Read each {} times, afresh (hook off, hook on), before you look at the others; all blanks in {unit}. \
                 Leave a blank empty when it was not read: empty is never zero.",
                self.times
            ),
        ]
    }

    /// The marks that a reading needs, or that a body stands on, with their bodies, in the survey's order.
    fn marks(&self) -> Vec<(&str, Point3<f64>, String)> {
        let bodies = |mark: &str| -> String {
            let on = self.scene.bodies.iter().filter(|body| {
                body.fit.as_ref().is_some_and(|fit| {
                    fit.survey == self.survey.name && fit.residuals.iter().any(|(name, _)| name == mark)
                })
            });
            on.map(|body| body.name.as_str()).collect::<Vec<_>>().join(", ")
        };
        let marks = self.survey.marks.iter();
        marks.map(|(name, at, _)| (name.as_str(), *at, bodies(name))).collect()
    }

    fn needed(&self, mark: &str) -> bool {
        self.readings.iter().any(|one| one.reading.mark == mark || one.reading.from == mark)
    }
}

/// What a reading is, for a person.
fn told(one: &SessionReading) -> String {
    let reading = &one.reading;
    match reading.how.as_str() {
        "" => format!("{} to {}", reading.from, reading.mark),
        "rearward" => format!("{}: x of the survey's axes", reading.mark),
        "right" => format!("{}: y of the survey's axes", reading.mark),
        "up" => format!("{}: z of the survey's axes", reading.mark),
        how => format!("{}: {how} from {}", reading.mark, reading.from),
    }
}

/// The form as Markdown, ending with a line break.
pub fn sheet_markdown(sheet: &FieldSheet<'_>) -> String {
    let mut out = String::new();
    let unit = unit_word(sheet.survey.unit);
    // Writing to a String cannot fail.
    let _ = writeln!(out, "# {}\n", sheet.heading());
    let _ =
        writeln!(out, "Date: ________________  Measured by: ________________  Vehicle: ________________\n");
    for caution in MEASURING_CAUTIONS {
        let _ = writeln!(out, "- **Caution.** {caution}");
    }
    for line in sheet.how_to() {
        let _ = writeln!(out, "- {line}");
    }
    let blank = "________";
    let _ = writeln!(out, "\n## Readings to take\n");
    let heads: Vec<String> = (1..=sheet.times).map(|k| format!("reading {k}, {unit}")).collect();
    let _ = writeln!(out, "| no. | what | {} | instrument | why |", heads.join(" | "));
    let _ = writeln!(out, "|---|---|{}---|---|", "---|".repeat(heads.len()));
    for (at, one) in sheet.readings.iter().enumerate() {
        let blanks = vec![blank; heads.len()].join(" | ");
        let _ = writeln!(out, "| {} | {} | {blanks} | {blank} | {} |", at + 1, told(one), one.why);
    }
    if sheet.readings.is_empty() {
        let _ =
            writeln!(out, "\nNothing is asked for: no gap is undecided, and the survey has no distances.");
    }
    let _ = writeln!(out, "\n## Marks\n\nVehicle axes: x rearward, y right, z up; mm.\n");
    let _ = writeln!(out, "| mark | x, mm | y, mm | z, mm | on |\n|---|---|---|---|---|");
    for (name, at, on) in sheet.marks() {
        let star = if sheet.needed(name) { " *" } else { "" };
        let _ = writeln!(
            out,
            "| {name}{star} | {:.0} | {:.0} | {:.0} | {on} |",
            at.x + 0.0,
            at.y + 0.0,
            at.z + 0.0
        );
    }
    let _ = writeln!(out, "\n\\* needed for a reading above. A picture is on the sheet as PDF or SVG.");
    out
}

const MARGIN_MM: f64 = 15.0;
const TEXT_MM: f64 = 3.2;
const ROW_MM: f64 = 7.5;

/// A leaf that is written from the top down.
struct Writer {
    leaves: Vec<Leaf>,
    size: [f64; 2],
    y: f64,
}

impl Writer {
    fn new(paper: Paper) -> Self {
        let size = leaf_size_mm(paper);
        Writer { leaves: vec![Leaf::default()], size, y: size[1] - MARGIN_MM }
    }

    fn leaf(&mut self) -> &mut Leaf {
        if self.leaves.is_empty() {
            self.leaves.push(Leaf::default());
        }
        let last = self.leaves.len() - 1;
        &mut self.leaves[last]
    }

    fn turn(&mut self) {
        self.leaves.push(Leaf::default());
        self.y = self.size[1] - MARGIN_MM;
    }

    fn words(&mut self, x: f64, size: f64, words: &str) {
        let at = Point2::new(x, self.y);
        self.leaf().words.push((at, size, words.to_owned()));
    }

    /// A paragraph over the whole width.
    fn paragraph(&mut self, size: f64, words: &str) {
        // A letter of the font is half as wide as high, in the mean.
        let columns = ((self.size[0] - 2.0 * MARGIN_MM) / (0.5 * size)) as usize;
        for line in wrapped_to(columns, words, 2).lines() {
            self.y -= 1.4 * size;
            self.words(MARGIN_MM, size, line);
        }
    }

    /// A row of cells, each from its left edge, with a line under it; a new leaf with `heads` where it is full.
    fn row(&mut self, lefts: &[f64], cells: &[String], heads: &[String]) {
        if self.y - ROW_MM < MARGIN_MM {
            self.turn();
            if !heads.is_empty() {
                self.row(lefts, heads, &[]);
            }
        }
        self.y -= ROW_MM;
        let right = self.size[0] - MARGIN_MM;
        for (at, (left, cell)) in lefts.iter().zip(cells).enumerate() {
            let room = lefts.get(at + 1).copied().unwrap_or(right) - left - 1.0;
            let letters = (room / (0.5 * TEXT_MM)) as usize;
            let lines = wrapped_to(letters.max(4), cell, 0);
            let small = lines.lines().count() > 1;
            let size = if small { 0.75 * TEXT_MM } else { TEXT_MM };
            let lines = if small { wrapped_to((room / (0.5 * size)) as usize, cell, 0) } else { lines };
            let rise = if small { ROW_MM - 0.3 - size } else { 2.2 };
            for (k, line) in lines.lines().take(2).enumerate() {
                let place = Point2::new(left + 0.8, self.y + rise - 1.15 * size * k as f64);
                self.leaf().words.push((place, size, line.to_owned()));
            }
        }
        let y = self.y;
        let leaf = self.leaf();
        leaf.lines.push(([Point2::new(lefts[0], y), Point2::new(right, y)], 0.15));
        for x in lefts.iter().copied().chain([right]) {
            leaf.lines.push(([Point2::new(x, y), Point2::new(x, y + ROW_MM)], 0.1));
        }
    }
}

/// The form as leaves of paper: title, cautions and readings; the marks in three views; their places.
pub fn sheet_leaves(sheet: &FieldSheet<'_>, paper: Paper) -> Vec<Leaf> {
    let mut on = Writer::new(paper);
    let unit = unit_word(sheet.survey.unit);
    on.paragraph(5.0, &sheet.heading());
    on.y -= 8.0;
    on.words(
        MARGIN_MM,
        TEXT_MM,
        "Date: ______________    Measured by: ____________________    Vehicle: ____________________",
    );
    on.y -= 3.0;
    for caution in MEASURING_CAUTIONS {
        on.paragraph(TEXT_MM, &format!("! {caution}"));
    }
    on.y -= 2.0;
    for line in sheet.how_to() {
        on.paragraph(TEXT_MM, &line);
    }
    on.y -= 4.0;
    let right = on.size[0] - MARGIN_MM;
    let blank_mm = (72.0 / f64::from(sheet.times)).clamp(12.0, 24.0);
    let mut lefts = vec![MARGIN_MM, MARGIN_MM + 8.0, MARGIN_MM + 50.0];
    for k in 1..=sheet.times {
        lefts.push(MARGIN_MM + 50.0 + blank_mm * f64::from(k));
    }
    let mut heads = vec!["no.".to_owned(), "from, to".to_owned()];
    heads.extend((1..=sheet.times).map(|k| format!("{k}. in {unit}")));
    heads.push("why; instrument".to_owned());
    lefts.retain(|left| *left < right - 10.0);
    on.row(&lefts, &heads, &[]);
    for (at, one) in sheet.readings.iter().enumerate() {
        let mut cells = vec![format!("{}", at + 1), told(one)];
        cells.extend((1..=sheet.times).map(|_| String::new()));
        cells.push(one.why.clone());
        on.row(&lefts, &cells, &heads);
    }
    if sheet.readings.is_empty() {
        on.paragraph(TEXT_MM, "Nothing is asked for: no gap is undecided, and the survey has no distances.");
    }
    on.turn();
    views(sheet, &mut on);
    on.turn();
    on.paragraph(
        TEXT_MM,
        "Marks, in vehicle axes (x rearward, y right, z up), mm. A star: a reading needs it.",
    );
    on.y -= 3.0;
    let lefts = [0.0, 32.0, 52.0, 72.0, 92.0].map(|x| MARGIN_MM + x);
    let heads = ["mark", "x, mm", "y, mm", "z, mm", "on the body"].map(str::to_owned);
    on.row(&lefts, &heads, &[]);
    for (name, at, body) in sheet.marks() {
        let star = if sheet.needed(name) { " *" } else { "" };
        let number = |value: f64| format!("{:.0}", value + 0.0);
        let cells = [format!("{name}{star}"), number(at.x), number(at.y), number(at.z), body];
        on.row(&lefts, &cells, &heads);
    }
    on.leaves
}

/// From above, from the left and from the front, each as an eye there sees it (right x up points at the eye: x x y = z,
/// x x z = -y, -y x z = -x), one under the other to one scale: marks as crosses, distances to take as lines.
fn views(sheet: &FieldSheet<'_>, on: &mut Writer) {
    type Flat = fn(&Point3<f64>) -> Point2<f64>;
    let all: [(&str, Flat); 3] = [
        ("From above: front of the vehicle at the left, its right side above", |p| Point2::new(p.x, p.y)),
        ("From its left side: front at the left, up above", |p| Point2::new(p.x, p.z)),
        ("From the front: its right side at the left, up above", |p| Point2::new(-p.y, p.z)),
    ];
    if sheet.survey.marks.is_empty() {
        return;
    }
    let extent = |flat: Flat| {
        let (mut low, mut high) = (Point2::new(f64::MAX, f64::MAX), Point2::new(f64::MIN, f64::MIN));
        for (_, at, _) in &sheet.survey.marks {
            let p = flat(at);
            (low, high) = (low.inf(&p), high.sup(&p));
        }
        (low, high)
    };
    let (mut wide, mut tall) = (1.0f64, 1.0f64);
    for (_, flat) in all {
        let (low, high) = extent(flat);
        wide = wide.max(high.x - low.x);
        tall += high.y - low.y;
    }
    let room = [on.size[0] - 2.0 * MARGIN_MM - 20.0, on.size[1] - 2.0 * MARGIN_MM - 3.0 * 18.0];
    let scale = (room[0] / wide).min(room[1] / tall);
    on.paragraph(
        TEXT_MM,
        &format!("Where the marks are. Scale about 1 : {:.1}; lines: distances to take.", 1.0 / scale),
    );
    for (title, flat) in all {
        let (low, high) = extent(flat);
        on.y -= 9.0;
        on.words(MARGIN_MM, TEXT_MM, title);
        on.y -= 6.0;
        let (left, top) = (MARGIN_MM + 5.0, on.y);
        let at = |p: &Point3<f64>| {
            let p = flat(p);
            Point2::new(left + (p.x - low.x) * scale, top - (high.y - p.y) * scale)
        };
        let mut taken: Vec<[f64; 4]> = Vec::new();
        let place =
            |name: &str| sheet.survey.marks.iter().find(|(mark, ..)| mark == name).map(|(_, p, _)| at(p));
        for one in sheet.readings {
            if let (Some(from), Some(to)) = (place(&one.reading.from), place(&one.reading.mark)) {
                on.leaf().lines.push(([from, to], 0.12));
            }
        }
        // Those that a reading needs get their names first; another only where there is room for it.
        for needed in [true, false] {
            for (name, p, _) in sheet.survey.marks.iter().filter(|(name, ..)| sheet.needed(name) == needed) {
                let (p, arm) = (at(p), if needed { 1.2 } else { 0.6 });
                let leaf = on.leaf();
                for (dx, dy) in [(arm, arm), (arm, -arm)] {
                    leaf.lines.push((
                        [Point2::new(p.x - dx, p.y - dy), Point2::new(p.x + dx, p.y + dy)],
                        if needed { 0.3 } else { 0.15 },
                    ));
                }
                let size = if needed { 2.8 } else { 2.0 };
                let long = 0.6 * size * name.chars().count() as f64;
                let spots = [
                    (1.4, 0.6),
                    (1.4, -size),
                    (-long - 1.2, 0.6),
                    (-long - 1.2, -size),
                    (1.4, 0.6 + size),
                    (1.4, -2.1 * size),
                ];
                let free = |(dx, dy): &(f64, f64)| {
                    let own = [p.x + dx, p.y + dy, p.x + dx + long, p.y + dy + size];
                    taken.iter().all(|t| own[0] > t[2] || own[2] < t[0] || own[1] > t[3] || own[3] < t[1])
                };
                let spot = spots.iter().find(|spot| free(spot)).or(spots.first().filter(|_| needed));
                if let Some((dx, dy)) = spot {
                    taken.push([p.x + dx, p.y + dy, p.x + dx + long, p.y + dy + size]);
                    leaf.words.push((Point2::new(p.x + dx, p.y + dy), size, name.clone()));
                }
            }
        }
        on.y -= (high.y - low.y) * scale;
    }
}
