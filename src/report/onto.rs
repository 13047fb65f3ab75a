//! One scan brought onto another: where it lies, how well that is known, and what held it.

use std::fmt::Write as _;

use nalgebra::Point3;
use serde_json::{Value, json};

use crate::survey::align::SurfaceFit;

use super::json::json_text;
use super::table::wrapped;

/// Name and version of the document.
const ONTO_FORMAT: &str = "baywright-onto/1";

/// A scan brought onto another.
#[derive(Clone, Debug)]
pub struct OntoReport<'a> {
    /// The file that was moved.
    pub moving: &'a str,
    /// The file that stays.
    pub fixed: &'a str,
    /// Edge of the finest cells, mm.
    pub cell_mm: f64,
    /// Starts that were tried.
    pub tried: usize,
    /// The greatest overlap of a start that ended elsewhere, when there were several.
    pub next_overlap: Option<f64>,
    /// Places at which the error was asked for.
    pub targets: Vec<OntoTarget>,
    /// The answer.
    pub fit: &'a SurfaceFit,
}

/// A place, in the axes of the scan that stays.
#[derive(Clone, Copy, Debug)]
pub struct OntoTarget {
    /// The place.
    pub place: Point3<f64>,
    /// Expanded uncertainty (k = 2) with which a point of the moved scan comes to stand there, over all directions, mm.
    pub expanded_mm: f64,
}

/// Two ends whose overlap differs by less cannot be told apart by it.
const ALIKE: f64 = 0.05;
/// Where less of the moved scan lies beside the other, the place itself is in doubt. A caution, not a measured limit: no search that
/// was tried ended in a wrong place.
const LITTLE: f64 = 0.8;

fn look_at(report: &OntoReport<'_>) -> Vec<String> {
    let fit = report.fit;
    let mut said = Vec::new();
    if !fit.converged {
        said.push("the last step still moved it: make `--cell` larger, or start nearer".to_owned());
    }
    if fit.overlap < LITTLE {
        said.push(format!(
            "only {:.0} % of the moved scan lies beside the other: it may lie in the wrong place; look at the result before you trust it",
            100.0 * fit.overlap
        ));
    }
    if let Some(next) = report.next_overlap
        && next > fit.overlap - ALIKE
    {
        said.push(format!(
            "another place overlaps nearly as well ({:.0} %): look at the result before you trust it, or give `--start`",
            100.0 * next
        ));
    }
    said.push(
        "the scanners' own errors (scale, warping over the bay) do not scatter and are not in U: measure two or three known lengths in each scan"
            .to_owned(),
    );
    said
}

/// Text of at most 80 columns, ending with a line break.
pub fn onto_text(report: &OntoReport<'_>) -> String {
    let (mut out, fit) = (String::new(), report.fit);
    // Writing to a String cannot fail.
    let mut say = |text: String| {
        let _ = writeln!(out, "{}", wrapped(&text, 2));
    };
    say(format!("{} brought onto {}, cells of {} mm", report.moving, report.fixed, report.cell_mm));
    let pose = fit.fixed_from_moving();
    let (x, y, z) = pose.rotation.euler_angles();
    let at = pose.translation.vector;
    say(format!(
        "at: [{:.3}, {:.3}, {:.3}], turn: {{x: {:.4}, y: {:.4}, z: {:.4}}} (mm, deg)",
        at.x,
        at.y,
        at.z,
        x.to_degrees(),
        y.to_degrees(),
        z.to_degrees()
    ));
    say(format!(
        "{}: {} steps from {} start{}; {:.0} % overlaps; scatter {:.2} mm, weighted rms {:.2} mm",
        if fit.converged { "settled" } else { "not settled" },
        fit.iterations,
        report.tried,
        if report.tried == 1 { "" } else { "s" },
        100.0 * fit.overlap,
        fit.scatter_mm,
        fit.rms_mm
    ));
    let worst = &fit.directions[0];
    say(format!(
        "held worst: shift [{:.2}, {:.2}, {:.2}] with turn [{:.2}, {:.2}, {:.2}], U {:.3} mm (k = 2)",
        worst.shift.x,
        worst.shift.y,
        worst.shift.z,
        worst.turn_mm.x,
        worst.turn_mm.y,
        worst.turn_mm.z,
        2.0 * worst.sigma_mm
    ));
    for target in &report.targets {
        let OntoTarget { place, expanded_mm } = target;
        say(format!("at ({:.1}, {:.1}, {:.1}): U {expanded_mm:.3} mm (k = 2)", place.x, place.y, place.z));
    }
    for line in look_at(report) {
        say(format!("! {line}"));
    }
    out
}

/// The same as JSON, ending with a line break.
pub fn onto_json(report: &OntoReport<'_>) -> String {
    let fit = report.fit;
    let pose = fit.fixed_from_moving();
    let q = pose.rotation.coords;
    let directions: Vec<Value> = fit
        .directions
        .iter()
        .map(|one| {
            json!({"shift": one.shift.as_slice(), "turn_mm": one.turn_mm.as_slice(), "share": one.share,
                "uncertainty_mm": 2.0 * one.sigma_mm})
        })
        .collect();
    let targets: Vec<Value> = report
        .targets
        .iter()
        .map(|target| json!({"place_mm": target.place.coords.as_slice(), "uncertainty_mm": target.expanded_mm}))
        .collect();
    json_text(&json!({
        "format": ONTO_FORMAT,
        "moving": report.moving,
        "fixed": report.fixed,
        "cell_mm": report.cell_mm,
        "at_mm": pose.translation.vector.as_slice(),
        "quaternion_xyzw": [q.x, q.y, q.z, q.w],
        "steps": fit.iterations,
        "starts": report.tried,
        "settled": fit.converged,
        "overlap": fit.overlap,
        "next_overlap": report.next_overlap,
        "scatter_mm": fit.scatter_mm,
        "rms_mm": fit.rms_mm,
        "directions": directions,
        "targets": targets,
        "look_at": look_at(report),
    }))
}
