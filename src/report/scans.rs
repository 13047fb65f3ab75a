//! A scan that was thinned and segmented: what was found, for people, for programs, and to paste into a scene.

use std::fmt::Write as _;

use nalgebra::{Point3, Vector3};
use serde::Serialize;
use serde_json::{Value, json};

use crate::survey::FitPlacement;
use crate::survey::scan::{FeatureShape, PointCloud, ScanFeature, ScanSummary, Segmented};

use super::json::json_text;
use super::table::{Set, table, wrapped};

/// Name and version of the document.
const SCAN_FORMAT: &str = "baywright-scan/1";
/// Expanded uncertainty is so many standard ones.
const COVERAGE: f64 = 2.0;
/// Thickness written for a plate, for a scan sees one side: mm, to be put right by hand.
const THICKNESS_MM: f64 = 2.0;

/// A scan and what became of it.
#[derive(Clone, Debug)]
pub struct ScanReport<'a> {
    /// The file.
    pub file: &'a str,
    /// The unit that was confirmed.
    pub units: &'a str,
    /// What was read.
    pub summary: ScanSummary,
    /// Edge of a cell, mm.
    pub cell_mm: f64,
    /// Points after thinning.
    pub thinned: usize,
    /// Points that were outliers.
    pub outliers: usize,
    /// The seed of the search.
    pub seed: u64,
    /// The thinned cloud.
    pub cloud: &'a PointCloud,
    /// What was found in it.
    pub found: &'a Segmented,
}

/// A scan's features and figures: text of at most 80 columns. Ends with a line break.
pub fn scan_text(report: &ScanReport<'_>) -> String {
    let mut out = String::new();
    let ScanReport { file, summary, cell_mm, thinned, outliers, found, .. } = report;
    // Writing to a String cannot fail.
    let mut say = |text: String| {
        let _ = writeln!(out, "{}", wrapped(&text, 2));
    };
    say(format!("{file}: {} points in {}", summary.points, report.units));
    if summary.left_out > 0 {
        say(format!("{} points that are no numbers left out", summary.left_out));
    }
    if let Some(bounds) = report.cloud.bounds() {
        let size = bounds.size();
        say(format!("extent {:.0} x {:.0} x {:.0} mm", size.x, size.y, size.z));
    }
    say(format!(
        "{thinned} points after thinning to {cell_mm} mm, {outliers} outliers removed; {} features, {} points in none",
        found.features.len(),
        found.left.len()
    ));
    let rows: Vec<Vec<String>> = found
        .features
        .iter()
        .enumerate()
        .map(|(number, feature)| {
            vec![
                name(feature, number),
                size_words(feature),
                feature.points.len().to_string(),
                format!("{:.2}", feature.rms_mm),
                format!("{:.2}", COVERAGE * shift_sigma_mm(&feature.shape.placement(), &middle(feature))),
            ]
        })
        .collect();
    if !rows.is_empty() {
        let heads = [
            ("feature", Set::Left),
            ("size", Set::Left),
            ("points", Set::Right),
            ("rms", Set::Right),
            ("U place", Set::Right),
        ];
        let _ = writeln!(out, "\n{}", table(&heads, 1, &rows));
    }
    let _ = writeln!(
        out,
        "{}",
        wrapped(
            &format!(
                "mm; rms: scatter of all its points; U place: expanded uncertainty of its middle in its worst direction, k = 2, from \
                 the points' scatter alone: add the scanner's own error and that of the alignment. Points within {:.2} mm \
                 belong to a feature. Seed {}.",
                found.tolerance_mm, report.seed
            ),
            2
        )
    );
    out
}

fn name(feature: &ScanFeature, number: usize) -> String {
    format!("scan-{}-{}", feature.shape.word(), number + 1)
}

fn size_words(feature: &ScanFeature) -> String {
    let width = |k: usize| feature.extent_mm.get(k).map_or(0.0, |[least, most]| most - least);
    match &feature.shape {
        FeatureShape::Plane(_) => format!("{:.0} x {:.0}", width(0), width(1)),
        FeatureShape::Cylinder(fit) => format!(
            "diameter {:.2}, length {:.0}, {:.0} deg of its round",
            2.0 * fit.radius_mm,
            width(0),
            feature.round_rad.unwrap_or_default().to_degrees()
        ),
        FeatureShape::Sphere(fit) => format!("diameter {:.2}", 2.0 * fit.radius_mm),
    }
}

/// The middle of what its points enclose.
fn middle(feature: &ScanFeature) -> Point3<f64> {
    let half = |k: usize| feature.extent_mm.get(k).map_or(0.0, |[least, most]| 0.5 * (least + most));
    match &feature.shape {
        FeatureShape::Plane(fit) => {
            fit.point + fit.along.into_inner() * half(0) + fit.across.into_inner() * half(1)
        }
        FeatureShape::Cylinder(fit) => fit.point + fit.direction.into_inner() * half(0),
        FeatureShape::Sphere(fit) => fit.center,
    }
}

fn shift_sigma_mm(placement: &FitPlacement, at: &Point3<f64>) -> f64 {
    placement.point_covariance(at).symmetric_eigenvalues().max().max(0.0).sqrt()
}

/// Features as bodies of a scene, to be pasted under `bodies`, in the scan's own axes; what the scan cannot say is marked in remarks.
/// `left` names a file with the points of no feature.
pub fn scan_yaml(report: &ScanReport<'_>, left: Option<&str>) -> String {
    let mut out = String::from(
        "# Features of a scan, in the scan's own axes: paste what you need under `bodies`, and give it name, role and material.\n\
         # Uncertainties come from the points' scatter alone; the scanner's own error and the alignment's are not in them.\n",
    );
    for (number, feature) in report.found.features.iter().enumerate() {
        out.push_str(&body_yaml(report.cloud, feature, number));
    }
    if let Some(file) = left {
        // Cells that touch at a corner are so far apart at most.
        let radius = report.cell_mm * 3f64.sqrt() / 2.0;
        let _ = writeln!(
            out,
            "scan-left: # points of no feature\n  shape: {{cloud: {{file: {file}, radius: {radius:.2}}}}}"
        );
    }
    out
}

fn body_yaml(cloud: &PointCloud, feature: &ScanFeature, number: usize) -> String {
    let mut out = format!(
        "{}: # {} points, rms {:.2} mm\n",
        name(feature, number),
        feature.points.len(),
        feature.rms_mm
    );
    let at = |p: &Point3<f64>| format!("[{:.3}, {:.3}, {:.3}]", p.x, p.y, p.z);
    let placement = feature.shape.placement();
    let mut origin = middle(feature);
    // Writing to a String cannot fail.
    match &feature.shape {
        FeatureShape::Plane(fit) => {
            origin = fit.point;
            let corners: Vec<String> =
                outline(cloud, feature, &[fit.along.into_inner(), -fit.across.into_inner()], &origin)
                    .iter()
                    .map(|[x, y]| format!("[{x:.1}, {y:.1}]"))
                    .collect();
            let _ = writeln!(
                out,
                "  shape: {{plate: {{outline: [{}], thickness: {THICKNESS_MM}}}}} # seen from one side: put the thickness right",
                corners.join(", ")
            );
            // z goes into the solid: along, the other way across, against the normal is right-handed.
            let axes = nalgebra::Matrix3::from_columns(&[
                fit.along.into_inner(),
                -fit.across.into_inner(),
                -fit.normal.into_inner(),
            ]);
            let (x, y, z) = nalgebra::Rotation3::from_matrix_unchecked(axes).euler_angles();
            let _ = writeln!(out, "  at: {}", at(&origin));
            let [x, y, z] = [x, y, z].map(f64::to_degrees);
            let _ = writeln!(out, "  turn: {{x: {x:.4} deg, y: {y:.4} deg, z: {z:.4} deg}}");
        }
        FeatureShape::Cylinder(fit) => {
            let [least, most] = feature.extent_mm.first().copied().unwrap_or_default();
            let [from, to] = [least, most].map(|h| at(&(fit.point + fit.direction.into_inner() * h)));
            let seen = feature.round_rad.unwrap_or_default().to_degrees();
            let _ = writeln!(
                out,
                "  shape: {{cylinder: {{diameter: {:.3}, from: {from}, to: {to}}}}} # {seen:.0} deg of its round were seen",
                2.0 * fit.radius_mm
            );
        }
        FeatureShape::Sphere(fit) => {
            let _ = writeln!(
                out,
                "  shape: {{sphere: {{diameter: {:.3}}}}}\n  at: {}",
                2.0 * fit.radius_mm,
                at(&fit.center)
            );
        }
    }
    let turn = placement
        .covariance
        .fixed_view::<3, 3>(3, 3)
        .into_owned()
        .symmetric_eigenvalues()
        .max()
        .max(0.0)
        .sqrt();
    let _ = writeln!(out, "  sigma: {:.4}", shift_sigma_mm(&placement, &origin));
    let _ = writeln!(out, "  sigma_turn: {:.5} deg", turn.to_degrees());
    let _ = writeln!(out, "  sigma_surface: {:.4}", placement.surface_mm);
    out
}

/// The convex outline of a plane's points, in the plane, mm.
///
/// # Source
/// Andrew, Information Processing Letters 9 (1979) 216-219.
fn outline(
    cloud: &PointCloud,
    feature: &ScanFeature,
    axes: &[Vector3<f64>; 2],
    origin: &Point3<f64>,
) -> Vec<[f64; 2]> {
    let mut flat: Vec<[f64; 2]> = feature
        .points
        .iter()
        .filter_map(|&index| cloud.points.get(index as usize))
        .map(|p| axes.map(|axis| (p - origin).dot(&axis)))
        .collect();
    flat.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let turn = |o: &[f64; 2], a: &[f64; 2], b: &[f64; 2]| {
        (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])
    };
    let half = |points: &mut dyn Iterator<Item = &[f64; 2]>| {
        let mut chain: Vec<[f64; 2]> = Vec::new();
        for point in points {
            while let [.., o, a] = chain[..]
                && turn(&o, &a, point) <= 0.0
            {
                chain.pop();
            }
            chain.push(*point);
        }
        chain.pop();
        chain
    };
    let mut hull = half(&mut flat.iter());
    hull.extend(half(&mut flat.iter().rev()));
    simplified(hull)
}

/// Corners that lie within a tenth of a millimetre of their neighbours' line are left out.
fn simplified(hull: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    let mut kept: Vec<[f64; 2]> = Vec::new();
    let count = hull.len();
    for k in 0..count {
        let (before, here, after) =
            (kept.last().copied().unwrap_or(hull[count - 1]), hull[k], hull[(k + 1) % count]);
        let (x, y) = (after[0] - before[0], after[1] - before[1]);
        let off = (x * (here[1] - before[1]) - y * (here[0] - before[0])).abs() / x.hypot(y).max(1e-9);
        if off > 0.1 {
            kept.push(here);
        }
    }
    if kept.len() < 3 { hull } else { kept }
}

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    file: &'a str,
    units: &'a str,
    points: usize,
    not_numbers_left_out: usize,
    extent_mm: Value,
    cell_mm: f64,
    thinned: usize,
    outliers: usize,
    tolerance_mm: f64,
    seed: u64,
    features: Vec<Value>,
    left: usize,
}

/// The same for programs: one document, with each feature's body as YAML beside its figures.
pub fn scan_json(report: &ScanReport<'_>) -> String {
    let features = report.found.features.iter().enumerate().map(|(number, feature)| {
        let placement = feature.shape.placement();
        let mut told = json!({
            "name": name(feature, number),
            "kind": feature.shape.word(),
            "points": feature.points.len(),
            "rms_mm": feature.rms_mm,
            "extent_mm": feature.extent_mm,
            "middle_mm": middle(feature).coords.as_slice(),
            "place_uncertainty_mm": COVERAGE * shift_sigma_mm(&placement, &middle(feature)),
            "surface_sigma_mm": placement.surface_mm,
        });
        let own = match &feature.shape {
            FeatureShape::Plane(fit) => json!({"normal": fit.normal.as_slice(), "point_mm": fit.point.coords.as_slice()}),
            FeatureShape::Cylinder(fit) => json!({
                "direction": fit.direction.as_slice(), "point_mm": fit.point.coords.as_slice(), "radius_mm": fit.radius_mm,
                "radius_uncertainty_mm": COVERAGE * fit.covariance[(4, 4)].sqrt(),
                "round_deg": feature.round_rad.map(f64::to_degrees),
            }),
            FeatureShape::Sphere(fit) => json!({
                "center_mm": fit.center.coords.as_slice(), "radius_mm": fit.radius_mm,
                "radius_uncertainty_mm": COVERAGE * fit.covariance[(3, 3)].sqrt(),
            }),
        };
        if let (Value::Object(told), Value::Object(own)) = (&mut told, own) {
            told.extend(own);
            told.insert("body_yaml".to_owned(), Value::String(body_yaml(report.cloud, feature, number)));
        }
        told
    });
    let extent = report
        .cloud
        .bounds()
        .map(|b| json!({"min": b.min.coords.as_slice(), "max": b.max.coords.as_slice()}));
    json_text(&Document {
        format: SCAN_FORMAT,
        file: report.file,
        units: report.units,
        points: report.summary.points,
        not_numbers_left_out: report.summary.left_out,
        extent_mm: extent.unwrap_or(Value::Null),
        cell_mm: report.cell_mm,
        thinned: report.thinned,
        outliers: report.outliers,
        tolerance_mm: report.found.tolerance_mm,
        seed: report.seed,
        features: features.collect(),
        left: report.found.left.len(),
    })
}
