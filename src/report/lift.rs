//! The straight lift of a part too heavy for hands, told: text, JSON, poses as CSV.

use std::fmt::Write as _;
use std::time::Duration;

use serde::Serialize;

use crate::assembly::Lift;
use crate::scene::Scene;
use crate::space::Length;
use crate::way_in::Answer;

use super::way::{NOT_LOOKED_AT, WAY_FORMAT, WayReport, way_csv, way_json, way_text};
use super::{CAUTIONS, json_text};

/// What is told.
#[derive(Clone, Debug)]
pub struct LiftReport<'a> {
    /// The scene.
    pub scene: &'a Scene,
    /// The body that is lifted in.
    pub body: &'a str,
    /// Least gap asked for.
    pub gap: Length,
    /// Seed; a lift needs none, the document has it.
    pub seed: u64,
    /// Bodies taken off first.
    pub without: &'a [String],
    /// Names of the obstacles.
    pub names: &'a [String],
    /// What hands may lift, kg.
    pub limit_kg: f64,
    /// The lift.
    pub lift: &'a Lift,
}

impl LiftReport<'_> {
    /// A lift that is free is a way of one move, and told as one.
    fn as_way<T>(&self, tell: impl FnOnce(&WayReport<'_>) -> T) -> T {
        tell(&WayReport {
            scene: self.scene,
            body: self.body,
            gap: self.gap,
            seed: self.seed,
            time: Duration::ZERO,
            without: self.without,
            names: self.names,
            remarks: &self.lift.remarks,
            seat_mm: None,
            answer: &Answer::Way(self.lift.way.clone()),
            cage: None,
        })
    }
}

/// The lift for a person.
pub fn lift_text(report: &LiftReport<'_>) -> String {
    let Some(why) = report.lift.stopped_words(report.limit_kg) else { return report.as_way(way_text) };
    let mut text = String::new();
    // Writing to a String cannot fail.
    let _ = writeln!(text, "`{}` is not lifted straight in, and this is proved: {why}.\n", report.body);
    for (name, height_mm) in report.lift.met.iter().take(5) {
        let _ = writeln!(text, "  {height_mm:>6.0} mm up: {name}");
    }
    for name in report.lift.hook_met.iter().take(5) {
        let _ = writeln!(text, "  above the hoist point: {name}");
    }
    let _ = writeln!(
        text,
        "\nTake off what is in the way (--without), move the hoist point, or mount the part elsewhere. Where gear holds it in another way, \
         --mass-limit over its mass has any way looked for."
    );
    for remark in &report.lift.remarks {
        let _ = writeln!(text, "Note: {remark}.");
    }
    for name in report.without {
        let _ = writeln!(text, "Note: `{name}` is taken off first.");
    }
    let _ = writeln!(text, "{NOT_LOOKED_AT}\n");
    for caution in CAUTIONS {
        let _ = writeln!(text, "{caution}");
    }
    text
}

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    title: &'a str,
    body: &'a str,
    answer: &'static str,
    gap_mm: f64,
    without: &'a [String],
    mass_kg: f64,
    mass_limit_kg: f64,
    lift_mm: f64,
    free_mm: f64,
    why: String,
    in_the_way: Vec<MetJson<'a>>,
    in_the_hooks_room: &'a [String],
    remarks: &'a [String],
    not_checked: [&'static str; 1],
    cautions: [&'static str; 4],
}

#[derive(Serialize)]
struct MetJson<'a> {
    body: &'a str,
    free_mm: f64,
}

/// The lift for programs: where it is free, the document of a way.
pub fn lift_json(report: &LiftReport<'_>) -> String {
    let Some(why) = report.lift.stopped_words(report.limit_kg) else { return report.as_way(way_json) };
    let lift = report.lift;
    json_text(&Document {
        format: WAY_FORMAT,
        title: &report.scene.title,
        body: report.body,
        answer: "no straight lift",
        gap_mm: report.gap.mm(),
        without: report.without,
        mass_kg: lift.kg,
        mass_limit_kg: report.limit_kg,
        lift_mm: lift.travel_mm,
        free_mm: lift.free_mm,
        why,
        in_the_way: lift.met.iter().map(|(body, free_mm)| MetJson { body, free_mm: *free_mm }).collect(),
        in_the_hooks_room: &lift.hook_met,
        remarks: &lift.remarks,
        not_checked: [NOT_LOOKED_AT],
        cautions: CAUTIONS,
    })
}

/// Its two poses; only the head where it is not free.
pub fn lift_csv(report: &LiftReport<'_>) -> String {
    let text = report.as_way(way_csv);
    match report.lift.is_free() {
        true => text,
        false => text.lines().take(1).map(|head| format!("{head}\n")).collect(),
    }
}
