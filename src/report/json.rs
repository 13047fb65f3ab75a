//! Findings as stable, versioned JSON.

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use crate::check::{Figure, FigureUnit, Finding, Findings, PairCount, Verdict};
use crate::scene::Scene;
use crate::space::Length;

use super::CAUTIONS;
use super::fits::look_at;

/// Name and version of the findings document; the number grows when a key changes its meaning or goes.
pub const JSON_FORMAT: &str = "baywright-findings/1";

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    title: &'a str,
    worst: Verdict,
    bodies: usize,
    pairs: PairCount,
    findings: Vec<FindingJson<'a>>,
    joined: Vec<JoinedJson<'a>>,
    look_at: Vec<String>,
    not_checked: &'a [String],
    cautions: [&'static str; 4],
}

#[derive(Serialize)]
struct FindingJson<'a> {
    code: &'static str,
    verdict: Verdict,
    bodies: &'a [String],
    required_mm: Option<f64>,
    actual_mm: Option<f64>,
    at_rest_mm: Option<f64>,
    uncertainty_mm: Option<f64>,
    place: Option<PlaceJson<'a>>,
    rule: &'a str,
    because: &'a str,
    cure: Option<CureJson<'a>>,
    /// For an undecided gap: readings that would narrow it, the best first.
    narrowed_by: Vec<NarrowingJson<'a>>,
    /// What of U is how the bodies stray from vehicle to vehicle.
    spread_mm: Option<f64>,
    message: &'a str,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    figures: Vec<FigureJson>,
}

/// A figure of a service point; more is better.
#[derive(Serialize)]
pub(super) struct FigureJson {
    what: &'static str,
    unit: FigureUnit,
    required: Option<f64>,
    actual: Option<f64>,
    at_least: bool,
    uncertainty: Option<f64>,
    verdict: Verdict,
}

impl From<&Figure> for FigureJson {
    fn from(figure: &Figure) -> Self {
        FigureJson {
            what: figure.what,
            unit: figure.unit,
            required: figure.required.map(round),
            actual: figure.actual.map(round),
            at_least: figure.at_least,
            uncertainty: figure.uncertainty.map(round),
            verdict: figure.verdict,
        }
    }
}

#[derive(Serialize)]
struct PlaceJson<'a> {
    on_first_mm: [f64; 3],
    on_second_mm: [f64; 3],
    pose: &'a str,
    carriers: Vec<CarrierJson<'a>>,
}

#[derive(Serialize)]
struct CarrierJson<'a> {
    name: &'a str,
    /// Radians for turns, millimetres for slides, in the scene's order.
    values: Vec<f64>,
}

#[derive(Serialize)]
struct NarrowingJson<'a> {
    what: &'a str,
    survey: Option<&'a str>,
    expected_uncertainty_mm: f64,
}

#[derive(Serialize)]
struct CureJson<'a> {
    body: &'a str,
    shift_mm: [f64; 3],
    proved: bool,
}

#[derive(Serialize)]
struct JoinedJson<'a> {
    bodies: [&'a str; 2],
    by: &'a str,
    gap_mm: Option<f64>,
}

/// Rounded to the nanometre: the last bits of a sum are nobody's measurement, and a document that is
/// compared should not hold them.
pub(super) fn round(value: f64) -> f64 {
    let rounded = (value * 1e6).round() / 1e6;
    if rounded == 0.0 { 0.0 } else { rounded }
}

fn length(length: Length) -> f64 {
    round(length.mm())
}

fn point(point: &Point3<f64>) -> [f64; 3] {
    [round(point.x), round(point.y), round(point.z)]
}

fn vector(vector: &Vector3<f64>) -> [f64; 3] {
    [round(vector.x), round(vector.y), round(vector.z)]
}

fn finding<'a>(finding: &'a Finding, findings: &'a Findings) -> FindingJson<'a> {
    let gap = findings.readings_for(finding);
    FindingJson {
        code: finding.code,
        verdict: finding.verdict,
        bodies: &finding.bodies,
        required_mm: finding.required.map(length),
        actual_mm: finding.actual.map(length),
        at_rest_mm: finding.at_rest.map(length),
        uncertainty_mm: finding.uncertainty.map(length),
        place: finding.place.as_ref().map(|place| PlaceJson {
            on_first_mm: point(&place.on_first),
            on_second_mm: point(&place.on_second),
            pose: &place.pose,
            carriers: place
                .values
                .iter()
                .map(|(name, values)| CarrierJson {
                    name,
                    values: values.iter().map(|v| round(*v)).collect(),
                })
                .collect(),
        }),
        rule: &finding.rule,
        because: &finding.because,
        cure: finding.cure.as_ref().map(|cure| CureJson {
            body: &cure.body,
            shift_mm: vector(&cure.shift),
            proved: cure.proved,
        }),
        narrowed_by: gap
            .iter()
            .flat_map(|gap| &gap.narrow)
            .map(|one| NarrowingJson {
                what: &one.what,
                survey: one.survey.as_deref(),
                expected_uncertainty_mm: length(one.expected),
            })
            .collect(),
        spread_mm: gap.and_then(|gap| gap.spread).map(length),
        message: &finding.message,
        figures: finding.figures.iter().map(FigureJson::from).collect(),
    }
}

/// The findings as one JSON document, ending with a line break. Lengths in mm, rounded to 1e-6.
pub fn findings_json(scene: &Scene, findings: &Findings) -> String {
    json_text(&document(scene, findings))
}

/// The same as a value that more may be added to.
pub(super) fn findings_value(scene: &Scene, findings: &Findings) -> serde_json::Value {
    serde_json::to_value(document(scene, findings)).unwrap_or_default()
}

fn document<'a>(scene: &'a Scene, findings: &'a Findings) -> Document<'a> {
    Document {
        format: JSON_FORMAT,
        title: &scene.title,
        worst: findings.worst(),
        bodies: scene.bodies.len(),
        pairs: findings.pairs,
        findings: findings.list.iter().map(|one| finding(one, findings)).collect(),
        joined: findings
            .joined
            .iter()
            .map(|pair| JoinedJson {
                bodies: [&pair.one, &pair.other],
                by: &pair.by,
                gap_mm: pair.gap.map(length),
            })
            .collect(),
        look_at: look_at(scene),
        not_checked: &findings.not_checked,
        cautions: CAUTIONS,
    }
}

/// A document as indented JSON with a last line break.
pub(super) fn json_text(document: &impl Serialize) -> String {
    // Our own plain structs with text keys: the only failure serde_json knows here cannot happen.
    let mut text = serde_json::to_string_pretty(document).unwrap_or_default();
    text.push('\n');
    text
}
