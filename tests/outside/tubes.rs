//! Random tubes and templates.

use baywright::solid::Solid;
use baywright::space::Pose;
use baywright::tube::{
    BenchOptions, BendList, ListedBend, MeasuredOptions, Paper, PieceForm, Saddle, Section, Stock,
    TubeAssembly, TubePiece, bench_sheet, fit_measured, template_pdf,
};
use nalgebra::{Point3, Vector3};
use serde_json::{Value, json};

use super::dice::Dice;

/// How closely meshes follow round things, mm.
pub const CHORD_MM: f64 = 0.05;

fn list(dice: &mut Dice, least_straight: f64) -> BendList {
    let bends = (0..1 + dice.choice(4))
        .map(|bend| ListedBend {
            straight_mm: dice.between(least_straight, 250.0),
            rotation_rad: if bend == 0 { 0.0 } else { dice.between(-3.1, 3.1) },
            angle_rad: dice.between(0.3, 2.4),
            radius_mm: dice.between(70.0, 140.0),
        })
        .collect();
    let last_straight_mm = dice.between(least_straight, 250.0);
    BendList { start: dice.pose(300.0), bends, last_straight_mm }
}

fn mesh(solid: &impl Solid) -> Value {
    let mesh = solid.tessellate(CHORD_MM);
    let vertices: Vec<[f64; 3]> = mesh.vertices.iter().map(|v| [v.x, v.y, v.z]).collect();
    json!({"vertices": vertices, "triangles": mesh.triangles})
}

fn points(points: &[Point3<f64>]) -> Vec<[f64; 3]> {
    points.iter().map(|p| [p.x, p.y, p.z]).collect()
}

/// A bent tube: its list, its corners, and what the bench is told of it.
pub fn bent(dice: &mut Dice, case: usize) -> Value {
    let list = list(dice, 20.0);
    let (outside_mm, wall_mm) = (dice.between(25.0, 60.0), dice.between(1.0, 3.0));
    let options = BenchOptions {
        outside_mm,
        wall_mm: Some(wall_mm),
        density_kg_m3: Some(7850.0),
        material: None,
        bender: None,
        start_extra_mm: 0.0,
        end_extra_mm: 0.0,
    };
    let corners = list.corners().unwrap();
    let sheet = bench_sheet(&list, &options).ok();
    let bends: Vec<Value> =
        list.bends.iter().map(|b| json!([b.straight_mm, b.rotation_rad, b.angle_rad, b.radius_mm])).collect();
    let axes: Vec<f64> =
        list.start.rotation.to_rotation_matrix().matrix().transpose().iter().copied().collect();
    json!({
        "case": case, "at": list.start.translation.vector.as_slice(), "axes_by_rows": axes,
        "bends": bends, "last": list.last_straight_mm, "corners": points(&corners.points),
        // A tube that runs into itself gets no sheet, and its mesh no volume.
        "answer": sheet.map(|sheet| json!({
            "cut": sheet.cut_mm, "metal": sheet.metal_mm3, "inside": sheet.inside_mm3, "weight": sheet.weight_kg,
            "outer": mesh(&corners.tube(outside_mm / 2.0, None)),
            "inner": mesh(&corners.tube(outside_mm / 2.0 - wall_mm, None)),
        })),
        "area": std::f64::consts::PI * outside_mm * list.length_mm(), "chord": CHORD_MM,
    })
}

/// A cone, or a transition from round to oval: its enclosed volume, and the points of its ends.
pub fn transition(dice: &mut Dice, case: usize) -> Value {
    let from = Section::Round { outside_mm: dice.between(40.0, 110.0) };
    let to = match dice.choice(2) {
        0 => Section::Round { outside_mm: dice.between(40.0, 110.0) },
        _ => Section::pressed(76.2, dice.between(20.0, 76.0)).unwrap(),
    };
    let stock = Stock { wall_mm: None, material: "mild-steel".to_owned(), wrap_mm: 0.0, coating_mm: 0.0 };
    let length_mm = dice.between(30.0, 150.0);
    let piece = TubePiece { form: PieceForm::Transition { from, to, length_mm }, stock };
    let tube = TubeAssembly { start: Pose::identity(), pieces: vec![piece] };
    json!({
        "case": case, "length": length_mm, "volume": tube.metal_mm3(),
        "from": from.size_mm(), "to": to.size_mm(),
    })
}

/// Points along a pipe, scattered, and the tube that is fitted to them.
pub fn measured(dice: &mut Dice, case: usize) -> Option<Value> {
    let list = list(dice, 60.0);
    let line = list.centreline().unwrap();
    let sigma = 0.2;
    let mut readings = Vec::new();
    for leg in &line.legs {
        let count = 7;
        readings.extend((0..count).map(|i| {
            let along = leg.length_mm() * (0.05 + 0.9 * f64::from(i) / f64::from(count - 1));
            leg.point_at(along) + Vector3::from_fn(|_, _| dice.normal()) * sigma
        }));
    }
    let fitted = fit_measured(&readings, &MeasuredOptions { sigma_mm: sigma, ..Default::default() }).ok()?;
    if fitted.line.radii_mm.len() != list.bends.len() || !fitted.converged {
        return None;
    }
    let truth = list.corners().unwrap();
    Some(json!({
        "case": case, "points": points(&readings),
        "truth": {"corners": points(&truth.points), "radii": truth.radii_mm},
        "answer": {"corners": points(&fitted.line.points), "radii": fitted.line.radii_mm},
    }))
}

/// A saddle's template: the PDF, and where its curve must be on the first page (mm from the top left corner).
pub fn template(dice: &mut Dice, case: usize) -> (Vec<u8>, Value) {
    let header = dice.between(40.0, 80.0);
    let branch = dice.between(20.0, header);
    let angle = dice.between(0.6, 2.5);
    let saddle = Saddle::new(header, branch, angle, dice.between(-0.5, 0.5) * (header - branch)).unwrap();
    let template = saddle.cut();
    let [low, high] = template.extent();
    let curve: Vec<[f64; 2]> =
        template.cut.iter().map(|p| [p.x - low.x + 10.0, high.y - p.y + 10.0]).collect();
    let told =
        json!({"case": case, "file": format!("template-{case}.pdf"), "curve": curve, "page": [297.0, 210.0]});
    (template_pdf(&template, Paper::A4), told)
}
