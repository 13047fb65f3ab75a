//! Service points and kept equipment before and after a change, side by side.

use std::fmt::Write as _;

use serde::Serialize;

use crate::check::{Change, Figure, FigureChange, Findings, KeptTable, Verdict};
use crate::scene::Scene;

use super::json::{FigureJson, findings_value, round};
use super::table::{Set, item, table, wrapped};

/// A table of service points, a line each and one more for each of its figures: what was asked, before, after, how much
/// it changed; then the kept bodies.
pub fn reach_table(kept: &KeptTable) -> String {
    let mut rows = Vec::new();
    for point in &kept.points {
        let word = |verdict: Option<Verdict>| verdict.map_or("-", Verdict::word).to_owned();
        rows.push(vec![
            point.point.clone(),
            point.code.to_owned(),
            word(point.before),
            word(point.after),
            String::new(),
            point.change.word().to_owned(),
        ]);
        rows.extend(point.figures.iter().map(row));
    }
    let heads = [
        ("service point", Set::Left),
        ("need", Set::Right),
        ("before", Set::Right),
        ("after", Set::Right),
        ("delta", Set::Right),
        ("verdict", Set::Left),
    ];
    let mut out = String::new();
    // Writing to a String cannot fail.
    if !rows.is_empty() {
        let _ = writeln!(out, "{}", table(&heads, 0, &rows));
        let _ = writeln!(out, "  >=: at least, nothing beyond was told apart; delta: after less before\n");
    }
    let _ = writeln!(out, "{}", kept_lines(kept));
    out
}

fn row(change: &FigureChange) -> Vec<String> {
    let dash = || "-".to_owned();
    let told = change.after.or(change.before);
    let need = told.and_then(|told| told.required.map(|need| format!("{need:.1} {}", told.unit.word())));
    let value = |figure: Option<Figure>| figure.map_or_else(dash, |figure| figure.text());
    let delta = change.delta.map_or_else(dash, |delta| {
        if delta.abs() < 0.05 { "0.0".to_owned() } else { format!("{delta:+.1}") }
    });
    vec![
        format!("  {}", change.what),
        need.unwrap_or_else(dash),
        value(change.before),
        value(change.after),
        delta,
        String::new(),
    ]
}

fn kept_lines(kept: &KeptTable) -> String {
    let mut out = String::new();
    let intact = kept.bodies.iter().filter(|body| body.is_intact()).count();
    let sum = format!(
        "Kept equipment: of {} bodies {intact} are present, unmoved, fastened as before and no worse to serve.",
        kept.bodies.len()
    );
    let _ = writeln!(out, "{}", wrapped(&sum, 0));
    for body in kept.bodies.iter().filter(|body| !body.is_intact()) {
        let mut said = Vec::new();
        if let Some(fault) = &body.fault {
            let why =
                body.allowed.as_ref().map(|why| format!(" (the scene allows it: {why})")).unwrap_or_default();
            said.push(format!("{fault}{why}"));
        }
        if !body.lost_joints.is_empty() {
            said.push(format!("is no longer fastened to {}", body.lost_joints.join(", ")));
        }
        if let Some(change @ (Change::Worse | Change::Gone)) = body.service {
            said.push(format!("its service is {}", change.word()));
        }
        let _ = writeln!(out, "{}", item("  -", 4, &format!("{}: {}", body.body, said.join("; "))));
    }
    out
}

#[derive(Serialize)]
struct KeptJson<'a> {
    bodies: Vec<BodyJson<'a>>,
    points: Vec<PointJson<'a>>,
}

#[derive(Serialize)]
struct BodyJson<'a> {
    body: &'a str,
    intact: bool,
    fault: Option<&'a str>,
    allowed: Option<&'a str>,
    lost_joints: &'a [String],
    service: Option<&'static str>,
}

#[derive(Serialize)]
struct PointJson<'a> {
    point: &'a str,
    code: &'static str,
    body: &'a str,
    before: Option<Verdict>,
    after: Option<Verdict>,
    change: &'static str,
    figures: Vec<ChangeJson>,
}

#[derive(Serialize)]
struct ChangeJson {
    what: &'static str,
    before: Option<FigureJson>,
    after: Option<FigureJson>,
    delta: Option<f64>,
}

/// The findings document with one more key, `before_after`: the kept bodies and service points side by side.
pub fn reach_json(scene: &Scene, findings: &Findings, kept: &KeptTable) -> String {
    let mut document = findings_value(scene, findings);
    let figure = |figure: &FigureChange| ChangeJson {
        what: figure.what,
        before: figure.before.as_ref().map(FigureJson::from),
        after: figure.after.as_ref().map(FigureJson::from),
        delta: figure.delta.map(round),
    };
    let points = kept.points.iter().map(|point| PointJson {
        point: &point.point,
        code: point.code,
        body: &point.body,
        before: point.before,
        after: point.after,
        change: point.change.word(),
        figures: point.figures.iter().map(figure).collect(),
    });
    let bodies = kept.bodies.iter().map(|one| BodyJson {
        body: &one.body,
        intact: one.is_intact(),
        fault: one.fault.as_deref(),
        allowed: one.allowed.as_deref(),
        lost_joints: &one.lost_joints,
        service: one.service.map(Change::word),
    });
    let told = KeptJson { bodies: bodies.collect(), points: points.collect() };
    if let Some(document) = document.as_object_mut() {
        // Plain structs with text keys: they always have a value.
        document.insert("before_after".to_owned(), serde_json::to_value(&told).unwrap_or_default());
    }
    super::json::json_text(&document)
}
