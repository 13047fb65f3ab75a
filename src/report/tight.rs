//! What of a body has too little room: text, CSV, JSON.

use std::fmt::Write as _;

use serde::Serialize;

use crate::check::Tight;

use super::json_text;
use super::table::{item, wrapped};

/// For people: a heading for each other body, a line for each stretch.
pub fn tight_text(body: &str, found: &[Tight]) -> String {
    let mut text = String::new();
    if found.is_empty() {
        let said =
            format!("`{body}` has the room that the rules ask for, on all of its surface, at every pose.");
        return format!("{}\n", wrapped(&said, 0));
    }
    // Writing to a String cannot fail.
    for tight in found {
        let head = format!("Against `{}`: less than {} ({})", tight.against, tight.required, tight.pose);
        let _ = writeln!(text, "{}", wrapped(&head, 2));
        if tight.patches.is_empty() {
            let _ =
                writeln!(text, "{}", item("  -", 4, "undecided only: no surface is under it as measured"));
        }
        for patch in &tight.patches {
            let (low, high, at) = (patch.bounds.min, patch.bounds.max, patch.at);
            let said = format!(
                "{:.1} cm2{}, least {} at x {:.0}, y {:.0}, z {:.0}; reaches x {:.0} to {:.0}, y {:.0} to {:.0}, z {:.0} to {:.0} mm",
                patch.area_mm2 / 100.0,
                if patch.doubtful_mm2 >= 5.0 {
                    format!(" (+/- {:.1})", patch.doubtful_mm2 / 100.0)
                } else {
                    String::new()
                },
                patch.least,
                at.x,
                at.y,
                at.z,
                low.x,
                high.x,
                low.y,
                high.y,
                low.z,
                high.z,
            );
            let _ = writeln!(text, "{}", item("  -", 4, &said));
        }
    }
    let note = format!(
        "Places are of `{body}`'s own surface with it at rest, wrap and coating left off; gaps with them on. \
         At other poses other places may be near. The measurements' uncertainty is not added."
    );
    let _ = writeln!(text, "\n{}", wrapped(&note, 0));
    text
}

/// Every cell: the other body, its corners (vehicle axes, body at rest) and the gap at its middle, mm.
pub fn tight_csv(found: &[Tight]) -> String {
    let mut text = String::from("against,stretch,x1,y1,z1,x2,y2,z2,x3,y3,z3,gap_mm,whole\n");
    for tight in found {
        for (number, patch) in tight.patches.iter().enumerate() {
            for cell in &patch.cells {
                let corners = cell.corners.iter().flat_map(|p| p.iter()).map(|v| format!("{v:.3}"));
                let corners = corners.collect::<Vec<_>>().join(",");
                let (number, gap) = (number + 1, cell.gap.mm());
                let _ = writeln!(text, "{},{number},{corners},{gap:.3},{}", tight.against, cell.whole);
            }
        }
    }
    text
}

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    body: &'a str,
    tight: Vec<TightJson<'a>>,
}

#[derive(Serialize)]
struct TightJson<'a> {
    against: &'a str,
    required_mm: f64,
    pose: &'a str,
    stretches: Vec<StretchJson>,
}

#[derive(Serialize)]
struct StretchJson {
    area_mm2: f64,
    doubtful_mm2: f64,
    least_mm: f64,
    at_mm: [f64; 3],
    from_mm: [f64; 3],
    to_mm: [f64; 3],
    cells: usize,
}

/// For programs; cells are counted, and listed in the CSV.
pub fn tight_json(body: &str, found: &[Tight]) -> String {
    let round = |v: f64| (v * 1e6).round() / 1e6;
    let three = |p: nalgebra::Point3<f64>| [round(p.x), round(p.y), round(p.z)];
    let tight = found
        .iter()
        .map(|tight| TightJson {
            against: &tight.against,
            required_mm: round(tight.required.mm()),
            pose: &tight.pose,
            stretches: tight
                .patches
                .iter()
                .map(|patch| StretchJson {
                    area_mm2: round(patch.area_mm2),
                    doubtful_mm2: round(patch.doubtful_mm2),
                    least_mm: round(patch.least.mm()),
                    at_mm: three(patch.at),
                    from_mm: three(patch.bounds.min),
                    to_mm: three(patch.bounds.max),
                    cells: patch.cells.len(),
                })
                .collect(),
        })
        .collect();
    json_text(&Document { format: "baywright-tight/1", body, tight })
}
