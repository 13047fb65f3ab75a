//! Surveys turned to bodies: each fit with its residuals and its uncertainty.

use std::fmt::Write as _;

use serde::Serialize;

use crate::check::COVERAGE;
use crate::scene::{Body, Scene};

use super::table::{Set, item, table, wrapped};

/// Name and version of the fits document.
const FITS_FORMAT: &str = "baywright-fits/1";

/// How well a body's middle is placed in its least certain direction, expanded (k = 2), mm.
fn place_mm(body: &Body) -> f64 {
    let covariance = body.placement.covariance.fixed_view::<3, 3>(0, 0).into_owned();
    COVERAGE * covariance.symmetric_eigenvalues().max().max(0.0).sqrt()
}

/// What the measurements say of themselves that a person should know, survey by survey and fit by fit: readings
/// that seem wrong, scatter beyond what was stated, fits that nothing checks.
pub(super) fn look_at(scene: &Scene) -> Vec<String> {
    let surveys = scene.surveys.iter().flat_map(|survey| {
        survey.remarks.iter().map(move |remark| format!("survey `{}`: {remark}", survey.name))
    });
    let fits =
        scene.bodies.iter().filter_map(|body| Some((body, body.fit.as_ref()?))).flat_map(|(body, fit)| {
            let unchecked = fit.rms_mm.is_none().then(|| {
                format!("`{}` has no spare reading, so nothing checks it: take one more mark", body.name)
            });
            fit.remarks.iter().map(move |remark| format!("`{}`: {remark}", body.name)).chain(unchecked)
        });
    surveys.chain(fits).collect()
}

/// The bodies that were fitted to readings: a table, then what stands out. Ends with a line break.
pub fn fits_text(scene: &Scene) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = writeln!(out, "{}", wrapped(&scene.title, 0));
    for survey in &scene.surveys {
        let date = survey.date.as_deref().unwrap_or("no date");
        let told = format!(
            "survey `{}`: {} marks by {}, {date}",
            survey.name,
            survey.marks.len(),
            survey.instrument
        );
        let _ = writeln!(out, "{}", wrapped(&told, 2));
    }
    let _ = writeln!(out);
    let mut rows = Vec::new();
    let remarks = look_at(scene);
    for body in &scene.bodies {
        let Some(fit) = &body.fit else { continue };
        let worst = fit.residuals.iter().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
        rows.push(vec![
            body.name.clone(),
            fit.kind.clone(),
            fit.residuals.len().to_string(),
            fit.spare.to_string(),
            fit.rms_mm.map_or_else(|| "-".to_owned(), |rms| format!("{rms:.2}")),
            worst.map_or_else(|| "-".to_owned(), |(mark, mm)| format!("{mark} {mm:+.2}")),
            format!("{:.2}", place_mm(body)),
        ]);
    }
    if rows.is_empty() {
        let _ = writeln!(out, "No body of this scene is fitted to readings.");
        return out;
    }
    let heads = [
        ("body", Set::Left),
        ("fit", Set::Left),
        ("marks", Set::Right),
        ("spare", Set::Right),
        ("rms", Set::Right),
        ("worst mark", Set::Left),
        ("U place", Set::Right),
    ];
    let _ = writeln!(out, "{}", table(&heads, 0, &rows));
    let _ = writeln!(
        out,
        "  mm; spare: readings beyond the least number; rms: scatter about the fit (`-`\n  without a spare one); \
         U place: expanded uncertainty of the middle, in its\n  worst direction, k = 2"
    );
    if !remarks.is_empty() {
        let _ = writeln!(out, "\nLook at:");
        for remark in remarks {
            let _ = writeln!(out, "{}", item("  -", 4, &remark));
        }
    }
    out
}

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    title: &'a str,
    fits: Vec<FitJson<'a>>,
    look_at: Vec<String>,
}

#[derive(Serialize)]
struct FitJson<'a> {
    body: &'a str,
    kind: &'a str,
    survey: &'a str,
    spare: usize,
    rms_mm: Option<f64>,
    residuals: Vec<ResidualJson<'a>>,
    left_out: Vec<ResidualJson<'a>>,
    center_mm: [f64; 3],
    place_uncertainty_mm: f64,
}

#[derive(Serialize)]
struct ResidualJson<'a> {
    mark: &'a str,
    off_mm: f64,
}

/// The same as JSON, ending with a line break.
pub fn fits_json(scene: &Scene) -> String {
    let fits = scene
        .bodies
        .iter()
        .filter_map(|body| body.fit.as_ref().map(|fit| (body, fit)))
        .map(|(body, fit)| FitJson {
            body: &body.name,
            kind: &fit.kind,
            survey: &fit.survey,
            spare: fit.spare,
            rms_mm: fit.rms_mm,
            residuals: fit
                .residuals
                .iter()
                .map(|(mark, off_mm)| ResidualJson { mark, off_mm: *off_mm })
                .collect(),
            left_out: fit
                .left_out
                .iter()
                .map(|(mark, off_mm)| ResidualJson { mark, off_mm: *off_mm })
                .collect(),
            center_mm: body.placement.about.coords.into(),
            place_uncertainty_mm: place_mm(body),
        })
        .collect();
    super::json_text(&Document { format: FITS_FORMAT, title: &scene.title, fits, look_at: look_at(scene) })
}
