//! What the bench needs to make a tube: text for the wall, CSV for a spreadsheet, JSON for programs.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::CAUTIONS;
use super::json::json_text;
use super::routes::flow_json;
use super::table::{Set, item, table, wrapped};
use crate::calc::FlowLoss;
use crate::check::flow_words;
use crate::space::{InchFraction, Length};
use crate::tube::{BenchSheet, Bender, JigPoint, JigUse, MakingFinding, Weight};

/// Name and version of the bench document.
const BENCH_FORMAT: &str = "baywright-bench/1";

/// How lengths are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BenchUnit {
    /// Millimetres to a tenth.
    Millimetre,
    /// Inches as a rule is marked.
    Inch(InchFraction),
}

impl BenchUnit {
    fn told(self, mm: f64) -> String {
        match self {
            BenchUnit::Millimetre => format!("{:.1}", if mm.abs() < 0.05 { 0.0 } else { mm }),
            BenchUnit::Inch(fraction) => {
                Length::from_mm(mm).in_fractions(fraction).trim_end_matches(" in").to_owned()
            }
        }
    }

    const fn word(self) -> &'static str {
        match self {
            BenchUnit::Millimetre => "mm",
            BenchUnit::Inch(_) => "in",
        }
    }
}

/// One tube of a body, with all that is said of it.
#[derive(Clone, Debug)]
pub struct BenchPiece<'a> {
    /// Name of the body, with the number of the piece where it has several.
    pub name: String,
    /// Outside diameter, mm.
    pub outside_mm: f64,
    /// Wall, mm.
    pub wall_mm: Option<f64>,
    /// Material.
    pub material: Option<&'a str>,
    /// The bender, when one is named.
    pub bender: Option<&'a Bender>,
    /// The figures.
    pub sheet: BenchSheet,
    /// What stands in the way of making it; empty without a bender.
    pub findings: Vec<MakingFinding>,
    /// Where a jig holds it, vehicle axes.
    pub jig: Vec<JigPoint>,
    /// What its flow costs, when it says what flows through it.
    pub flow: Option<FlowLoss>,
}

fn degrees(rad: f64) -> String {
    format!("{:.1}", rad.to_degrees() + 0.0)
}

const HEADS: [&str; 8] = ["bend", "straight", "rotate", "angle", "bend to", "radius", "mark from", "mark to"];

fn rows(piece: &BenchPiece<'_>, unit: BenchUnit) -> Vec<Vec<String>> {
    let mut rows: Vec<Vec<String>> = piece
        .sheet
        .rows
        .iter()
        .map(|row| {
            vec![
                row.number.to_string(),
                unit.told(row.straight_mm),
                degrees(row.rotation_rad),
                degrees(row.angle_rad),
                degrees(row.bend_to_rad),
                unit.told(row.radius_mm),
                unit.told(row.mark_from_mm),
                unit.told(row.mark_to_mm),
            ]
        })
        .collect();
    let mut last = vec![String::new(); HEADS.len()];
    last[0] = "end".to_owned();
    last[1] = unit.told(piece.sheet.last_straight_mm);
    last[6] = unit.told(piece.sheet.cut_mm);
    rows.push(last);
    rows
}

/// The list for people, 80 columns. Ends with a line break.
pub fn bench_text(pieces: &[BenchPiece<'_>], unit: BenchUnit) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    for piece in pieces {
        let wall = piece.wall_mm.map_or("solid bar".to_owned(), |wall| format!("wall {wall:.2} mm"));
        let material = piece.material.unwrap_or("no material given");
        let head = format!("{}: {:.2} mm outside, {wall}, {material}", piece.name, piece.outside_mm);
        let _ = writeln!(out, "{}", wrapped(&head, 2));
        let bender = match piece.bender {
            Some(bender) => format!("bender {}: {}", bender.name, bender.source),
            None => "no bender named: neither springback nor stretch, and not asked whether it can be bent"
                .to_owned(),
        };
        let _ = writeln!(out, "{}", wrapped(&bender, 2));
        let _ = writeln!(out, "lengths in {}, angles in deg\n", unit.word());
        let heads = HEADS.map(|head| (head, Set::Right));
        let _ = writeln!(out, "{}\n", table(&heads, 0, &rows(piece, unit)));
        let sheet = &piece.sheet;
        let mut said = vec![
            format!("cut {} {}", unit.told(sheet.cut_mm), unit.word()),
            format!("without stretch {} {}", unit.told(sheet.cut_unstretched_mm), unit.word()),
            format!("centreline {} {}", unit.told(sheet.centreline_mm), unit.word()),
        ];
        said.extend(sheet.weight_kg.map(|kg| format!("weight {kg:.3} kg")));
        said.push(format!("inside {:.3} l", sheet.inside_mm3 / 1e6));
        let thinnest = sheet.rows.iter().filter_map(|row| row.outer_wall_mm).reduce(f64::min);
        said.extend(thinnest.map(|mm| format!("outer wall down to {mm:.2} mm")));
        let _ = writeln!(out, "{}\n", wrapped(&said.join(" | "), 0));
        if let Some(flow) = &piece.flow {
            let mut said = vec![format!("flow: {}; screening figures", flow_words(flow))];
            said.extend(flow.said());
            let _ = writeln!(out, "{}\n", wrapped(&said.join(". "), 0));
        }
        if piece.bender.is_some() {
            if piece.findings.is_empty() {
                let _ = writeln!(out, "nothing stands in the way of bending it so\n");
            }
            for finding in &piece.findings {
                let _ = writeln!(out, "{}", item("-", 2, &finding.to_string()));
            }
            if !piece.findings.is_empty() {
                let _ = writeln!(out);
            }
        }
        if !piece.jig.is_empty() {
            out.push_str(&jig_text(&piece.jig));
        }
    }
    for caution in said_with_lists() {
        let _ = writeln!(out, "{}", item("!", 2, caution));
    }
    out
}

/// Where a jig touches: in vehicle axes, and in the tube's own frame for a jig that stands on the bench.
fn jig_text(points: &[JigPoint]) -> String {
    let head = "jig touches at, mm, with the way out of the tube there; in vehicle axes, and in the tube's own frame \
                (origin at its first end, x along it, z the first bend's axis):";
    let xyz = |v: &[f64], digits: usize| {
        let tidy: Vec<String> =
            v.iter().map(|v| format!("{:.digits$}", if v.abs() < 5e-3 { 0.0 } else { *v })).collect();
        tidy.join(", ")
    };
    let mut out = format!("{}\n", wrapped(head, 0));
    for point in points {
        let holds = match point.holds {
            JigUse::ByJoint => "by its end",
            JigUse::Middle => "its middle",
        };
        let words = format!(
            "{}, {holds}, {:.0} mm along: ({}) out ({}); in the tube's frame ({}) out ({})",
            point.place,
            point.along_mm,
            xyz(point.touch.coords.as_slice(), 1),
            xyz(point.normal.as_slice(), 2),
            xyz(point.touch_in_tube.coords.as_slice(), 1),
            xyz(point.normal_in_tube.as_slice(), 2),
        );
        out.push_str(&format!("{}\n", item("-", 2, &words)));
    }
    out.push('\n');
    out
}

/// The cautions that go with lists and templates.
pub fn said_with_lists() -> impl Iterator<Item = &'static str> {
    const LISTS: [&str; 2] = [
        "Springback, stretch and thinning are screening figures: bend a test piece of the same tube first. Weld, \
         cut and bend by licensed practice and with eyes, hands and lungs protected.",
        "A pipe that holds pressure, fuel or hot gas must be tested before use; nothing here says that it is \
         strong enough.",
    ];
    LISTS.into_iter().chain(CAUTIONS[..3].iter().copied())
}

/// The list for a spreadsheet: a line for each bend and one for each end. Ends with a line break.
pub fn bench_csv(pieces: &[BenchPiece<'_>], unit: BenchUnit) -> String {
    let unit_word = unit.word();
    let mut out = format!(
        "tube,bend,straight_{unit_word},rotation_deg,angle_deg,bend_to_deg,radius_{unit_word},\
         mark_from_{unit_word},mark_to_{unit_word}\n"
    );
    for piece in pieces {
        // Names have letters, digits, `-`, `_`, `.` and blanks only: nothing to quote. One that begins like a
        // formula is told as text.
        let name = piece.name.trim_start_matches(['-', '+', '=', '@']);
        for row in rows(piece, unit) {
            let _ = writeln!(out, "{name},{}", row.join(","));
        }
    }
    out
}

/// The list for programs: millimetres and degrees, unrounded.
pub fn bench_json(pieces: &[BenchPiece<'_>]) -> String {
    let tubes: Vec<Value> = pieces.iter().map(piece_json).collect();
    let cautions: Vec<&str> = said_with_lists().collect();
    json_text(&json!({"format": BENCH_FORMAT, "tubes": tubes, "cautions": cautions}))
}

pub(super) fn piece_json(piece: &BenchPiece<'_>) -> Value {
    let sheet = &piece.sheet;
    let bends: Vec<Value> = sheet
        .rows
        .iter()
        .map(|row| {
            json!({
                "bend": row.number,
                "straight_mm": row.straight_mm,
                "rotation_deg": row.rotation_rad.to_degrees(),
                "angle_deg": row.angle_rad.to_degrees(),
                "bend_to_deg": row.bend_to_rad.to_degrees(),
                "radius_mm": row.radius_mm,
                "setback_mm": row.setback_mm,
                "arc_mm": row.arc_mm,
                "mark_from_mm": row.mark_from_mm,
                "mark_to_mm": row.mark_to_mm,
                "outer_wall_mm": row.outer_wall_mm,
            })
        })
        .collect();
    let findings: Vec<Value> = piece
        .findings
        .iter()
        .map(|finding| {
            json!({
                "code": finding.rule.code(),
                "cannot": finding.weight == Weight::Cannot,
                "place": finding.place.to_string(),
                "along_mm": finding.along_mm,
                "found": finding.found,
                "needed": finding.needed,
                "unit": finding.unit,
                "because": finding.because,
                "remedies": finding.remedies.iter().map(ToString::to_string).collect::<Vec<_>>(),
            })
        })
        .collect();
    let jig: Vec<Value> = piece
        .jig
        .iter()
        .map(|point| {
            json!({
                "place": point.place.to_string(),
                "along_mm": point.along_mm,
                "center_mm": point.center.coords.as_slice(),
                "touch_mm": point.touch.coords.as_slice(),
                "normal": point.normal.as_slice(),
                "touch_in_tube_mm": point.touch_in_tube.coords.as_slice(),
                "normal_in_tube": point.normal_in_tube.as_slice(),
                "holds": match point.holds { JigUse::ByJoint => "by-joint", JigUse::Middle => "middle" },
            })
        })
        .collect();
    json!({
        "tube": piece.name,
        "outside_mm": piece.outside_mm,
        "wall_mm": piece.wall_mm,
        "material": piece.material,
        "bender": piece.bender.map(|bender| bender.name.as_str()),
        "bends": bends,
        "last_straight_mm": sheet.last_straight_mm,
        "cut_mm": sheet.cut_mm,
        "cut_unstretched_mm": sheet.cut_unstretched_mm,
        "centreline_mm": sheet.centreline_mm,
        "weight_kg": sheet.weight_kg,
        "metal_mm3": sheet.metal_mm3,
        "inside_mm3": sheet.inside_mm3,
        "findings": findings,
        "jig": jig,
        "flow": piece.flow.as_ref().map(flow_json),
    })
}
