//! Writes random cases with our answers, for `.ci/outside.py` to judge with general-purpose libraries.
//!
//! Run as a test, so that the cases come from the same build that is tested; it also fails by itself when an
//! answer is not even of the right kind. Random numbers come from a seed that stands in every file.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "outside/dice.rs"]
pub mod dice;
#[path = "outside/fits.rs"]
mod fits;
#[path = "outside/gltf.rs"]
mod gltf;
#[path = "outside/hoses.rs"]
mod hoses;
#[path = "outside/networks.rs"]
mod networks;
#[path = "outside/shapes.rs"]
mod shapes;
#[path = "outside/tubes.rs"]
mod tubes;
#[path = "outside/verdicts.rs"]
mod verdicts;

use std::fs;
use std::io::{BufWriter, Write};
use std::path::PathBuf;
use std::sync::Arc;

use baywright::calc::{Flow, FlowPart, Fluid, flow_loss, friction_factor};
use baywright::clearance::{Gap, IndexedShape, gap};
use baywright::solid::{MeshKind, Shape};
use baywright::space::Pose;
use serde_json::{Value, json};

use dice::Dice;
use rayon::prelude::*;

const SEED: u64 = 20_260_314;

fn file(name: &str) -> BufWriter<fs::File> {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("outside");
    fs::create_dir_all(&folder).unwrap();
    let mut file = BufWriter::new(fs::File::create(folder.join(name)).unwrap());
    writeln!(file, "{}", json!({"seed": SEED, "file": name})).unwrap();
    file
}

fn pose_json(pose: &Pose) -> Value {
    let q = pose.rotation.coords;
    json!({"at": pose.translation.vector.as_slice(), "quaternion_xyzw": [q.x, q.y, q.z, q.w]})
}

fn gap_json(gap: &Gap) -> Value {
    json!({
        "gap": gap.gap.mm(),
        "on_fixed": gap.witness.on_fixed.coords.as_slice(),
        "on_moving": gap.witness.on_moving.coords.as_slice(),
        "normal": gap.witness.normal.as_slice(),
    })
}

/// Moved along its witness's normal by the depth (and a hair) an overlapping pair must part; by a little
/// less it must not.
fn parts_by_its_depth(fixed: &IndexedShape, moving: &IndexedShape, pose: &Pose, found: &Gap, case: &str) {
    let depth = -found.gap.mm();
    let moved = |by: f64| {
        let shift = found.witness.normal.into_inner() * by;
        gap(fixed, moving, &(Pose::translation(shift.x, shift.y, shift.z) * pose)).gap.mm()
    };
    let parted = moved(depth + 2e-6);
    assert!((-1e-9..1e-4).contains(&parted), "{case}: moved by its depth {depth} the gap is {parted}");
    let less = moved(depth * 0.999 - 2e-6);
    assert!(depth < 1e-4 || less < 0.0, "{case}: moved by less than its depth {depth} they part: {less}");
}

#[test]
fn convex_pairs() {
    let mut dice = Dice::new(SEED);
    let mut file = file("convex.jsonl");
    let mut overlapping = 0;
    for case in 0..12_000 {
        let (one, other) = (shapes::convex(&mut dice), shapes::convex(&mut dice));
        let spread = [40.0, 90.0, 250.0][case % 3];
        let pose = dice.pose(spread);
        let (fixed, moving) =
            (IndexedShape::new(Arc::new(one.clone())), IndexedShape::new(Arc::new(other.clone())));
        let found = gap(&fixed, &moving, &pose);
        assert!(found.gap.mm().is_finite(), "case {case}");
        if found.gap.mm() < 0.0 {
            overlapping += 1;
            parts_by_its_depth(&fixed, &moving, &pose, &found, &format!("convex case {case}"));
        }
        let told = json!({
            "case": case, "fixed": shapes::told(&one), "moving": shapes::told(&other),
            "fixed_from_moving": pose_json(&pose), "answer": gap_json(&found),
        });
        writeln!(file, "{told}").unwrap();
    }
    assert!(overlapping > 2_000, "only {overlapping} of the pairs overlap");
}

#[test]
fn bent_and_pierced_pairs() {
    let chord = 0.05;
    let mut dice = Dice::new(SEED + 1);
    let mut file = file("tessellated.jsonl");
    let cases: Vec<(usize, Shape, Shape, Pose)> = (0..400)
        .map(|case| {
            let one = shapes::bent_or_pierced(&mut dice);
            let other =
                if case % 2 == 0 { shapes::bent_or_pierced(&mut dice) } else { shapes::convex(&mut dice) };
            (case, one, other, dice.pose([60.0, 160.0][case % 2]))
        })
        .collect();
    let told: Vec<(bool, Value)> = cases
        .par_iter()
        .map(|(case, one, other, pose)| {
            let index = |shape: &Shape| IndexedShape::new(Arc::new(shape.clone()));
            let (fixed, moving) = (index(one), index(other));
            let found = gap(&fixed, &moving, pose);
            let overlap = found.gap.mm() < 0.0;
            if overlap {
                parts_by_its_depth(&fixed, &moving, pose, &found, &format!("bent case {case}"));
            }
            let mesh = |shape: &Shape| {
                let mesh = shape.tessellate(chord);
                let vertices: Vec<[f64; 3]> = mesh.vertices.iter().map(|v| [v.x, v.y, v.z]).collect();
                json!({"vertices": vertices, "triangles": mesh.triangles, "volume": shape.volume_mm3()})
            };
            let told = json!({
                "case": case, "chord": chord, "fixed": mesh(one), "moving": mesh(other),
                "fixed_from_moving": pose_json(pose), "answer": gap_json(&found),
            });
            (overlap, told)
        })
        .collect();
    for (_, told) in &told {
        writeln!(file, "{told}").unwrap();
    }
    let overlapping = told.iter().filter(|(overlap, _)| *overlap).count();
    assert!(overlapping > 50, "only {overlapping} of the pairs overlap");
}

#[test]
fn mesh_pairs() {
    let mut dice = Dice::new(SEED + 2);
    let mut file = file("meshes.jsonl");
    for case in 0..300 {
        let meshes = [shapes::lumpy(&mut dice), shapes::lumpy(&mut dice)];
        let pose = dice.pose(160.0);
        let [fixed, moving] =
            [0, 1].map(|at: usize| IndexedShape::new(Arc::new(Shape::Mesh(meshes[at].clone()))));
        let found = gap(&fixed, &moving, &pose);
        if found.gap.mm() < 0.0 {
            parts_by_its_depth(&fixed, &moving, &pose, &found, &format!("mesh case {case}"));
        }
        let mesh = |at: usize| {
            let vertices: Vec<[f64; 3]> = meshes[at].vertices.iter().map(|v| [v.x, v.y, v.z]).collect();
            json!({"vertices": vertices, "triangles": meshes[at].triangles})
        };
        let told = json!({
            "case": case, "fixed": mesh(0), "moving": mesh(1),
            "fixed_from_moving": pose_json(&pose), "answer": gap_json(&found),
        });
        writeln!(file, "{told}").unwrap();
    }
}

#[test]
fn hard_verdicts() {
    let stock = verdicts::stock(&mut Dice::new(SEED + 5));
    let mut file = file("verdicts.jsonl");
    for (at, stocked) in stock.iter().enumerate() {
        let mesh = &stocked.mesh;
        let vertices: Vec<[f64; 3]> = mesh.vertices.iter().map(|v| [v.x, v.y, v.z]).collect();
        let closed = mesh.kind == MeshKind::Closed;
        let told = json!({"mesh": at, "vertices": vertices, "triangles": mesh.triangles, "closed": closed});
        writeln!(file, "{told}").unwrap();
    }
    let found: Vec<_> = (0..100_000).into_par_iter().map(|at| verdicts::case(&stock, SEED + 5, at)).collect();
    let mut counts = [[0usize; 2]; verdicts::KINDS.len()];
    for (case, found) in found.iter().enumerate() {
        let kind = verdicts::KINDS.iter().position(|kind| *kind == found.kind).unwrap();
        counts[kind][usize::from(found.touches)] += 1;
        let told = json!({
            "case": case, "kind": found.kind, "fixed": found.fixed, "moving": found.moving,
            "fixed_from_moving": pose_json(&found.pose), "touches": found.touches, "gap": found.gap_mm,
        });
        writeln!(file, "{told}").unwrap();
    }
    let faults: Vec<&String> = found.iter().filter_map(|found| found.fault.as_ref()).collect();
    assert!(faults.is_empty(), "{} faults: {:#?}", faults.len(), &faults[..faults.len().min(10)]);
    // Each kind but the one that is told by its name comes out both ways.
    for (kind, [apart, touching]) in verdicts::KINDS.iter().zip(counts) {
        let (least_apart, least_touching) = match *kind {
            "a hair apart" => (10_000, 0),
            "a hair deep" => (0, 5_000),
            "contained" => (100, 5_000),
            _ => (1_000, 1_000),
        };
        assert!(
            apart >= least_apart && touching >= least_touching,
            "{kind}: {apart} apart, {touching} touching"
        );
    }
}

#[test]
fn random_fits() {
    let mut dice = Dice::new(SEED + 3);
    let mut file = file("fits.jsonl");
    // OUTSIDE_FITS=1000 writes as many of each kind.
    let each: usize = std::env::var("OUTSIDE_FITS").ok().and_then(|text| text.parse().ok()).unwrap_or(200);
    let mut made = 0;
    for case in 0..each * fits::KINDS.len() {
        if let Some(told) = fits::case(&mut dice, case) {
            writeln!(file, "{told}").unwrap();
            made += 1;
        }
    }
    let all = each * fits::KINDS.len();
    assert!(made * 100 > all * 97, "only {made} of {all} features were fitted");
}

#[test]
fn random_networks() {
    let mut dice = Dice::new(SEED + 5);
    let mut file = file("networks.jsonl");
    let told: Vec<Value> = (0..250).filter_map(|case| networks::case(&mut dice, case)).collect();
    for case in &told {
        writeln!(file, "{case}").unwrap();
    }
    // Chance alone has a reading left out in a few of a hundred.
    assert!(told.len() > 230, "only {} of 250 networks were solved as read", told.len());
}

#[test]
fn random_tubes() {
    let mut dice = Dice::new(SEED + 4);
    let mut bent = file("tubes.jsonl");
    for case in 0..150 {
        writeln!(bent, "{}", tubes::bent(&mut dice, case)).unwrap();
    }
    let mut transitions = file("transitions.jsonl");
    for case in 0..200 {
        writeln!(transitions, "{}", tubes::transition(&mut dice, case)).unwrap();
    }
    let mut measured = file("measured.jsonl");
    let fitted: Vec<Value> = (0..60).filter_map(|case| tubes::measured(&mut dice, case)).collect();
    for case in &fitted {
        writeln!(measured, "{case}").unwrap();
    }
    assert!(fitted.len() > 45, "only {} of 60 pipes were fitted with the right bends", fitted.len());
    let mut templates = file("templates.jsonl");
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("outside");
    for case in 0..12 {
        let (pdf, told) = tubes::template(&mut dice, case);
        fs::write(folder.join(told["file"].as_str().unwrap()), pdf).unwrap();
        writeln!(templates, "{told}").unwrap();
    }
}

/// Friction factors and pressure losses over all that a bay has, and hoses at rest.
#[test]
fn random_flows_and_hoses() {
    let mut dice = Dice::new(SEED + 7);
    let mut flows = file("flows.jsonl");
    for case in 0..500 {
        let reynolds = 10f64.powf(dice.between(2.5, 7.5));
        let rough = if case % 5 == 0 { 0.0 } else { 10f64.powf(dice.between(-6.0, -1.3)) };
        let told = json!({"case": case, "reynolds": reynolds, "rough": rough, "factor": friction_factor(reynolds, rough)});
        writeln!(flows, "{told}").unwrap();
    }
    let mut gases = file("gases.jsonl");
    let mut chokes = 0;
    for case in 0..200 {
        let flow = Flow {
            fluid: if case % 2 == 0 { Fluid::Air } else { Fluid::Exhaust },
            mass_kg_s: dice.between(0.02, 0.5),
            temperature_k: dice.between(280.0, 1200.0),
            pressure_pa: dice.between(1e5, 3e5),
            roughness_mm: dice.between(0.0, 0.1),
        };
        let (bore_mm, radius_mm) = (dice.between(35.0, 90.0), dice.between(60.0, 150.0));
        let angle_rad = dice.between(0.2, 3.0);
        let parts = [
            FlowPart::Straight { bore_mm, length_mm: dice.between(20.0, 900.0) },
            FlowPart::Bend { bore_mm, radius_mm, angle_rad },
            FlowPart::Straight { bore_mm, length_mm: dice.between(20.0, 900.0) },
        ];
        let [FlowPart::Straight { length_mm: one, .. }, _, FlowPart::Straight { length_mm: other, .. }] =
            parts
        else {
            unreachable!()
        };
        let found = flow_loss(&parts, &flow).ok();
        chokes += usize::from(found.is_none());
        let told = json!({
            "case": case, "air": case % 2 == 0, "mass": flow.mass_kg_s, "kelvin": flow.temperature_k,
            "pressure": flow.pressure_pa, "rough": flow.roughness_mm, "bore": bore_mm, "radius": radius_mm,
            "angle": angle_rad, "straights": [one, other],
            "loss": found.map(|found| found.loss_pa), "velocity": found.map(|found| found.velocity_m_s),
        });
        writeln!(gases, "{told}").unwrap();
    }
    assert!((5..120).contains(&chokes), "{chokes} of 200 choke");
    let mut bent = file("hoses.jsonl");
    for case in 0..20 {
        let told = hoses::relaxed(&mut dice, case);
        assert!(!told["points"].is_null(), "hose {case} has no shape: {told}");
        writeln!(bent, "{told}").unwrap();
    }
    let mut upright = file("elastica.jsonl");
    for case in 0..24 {
        let told = hoses::upright(&mut dice, case);
        assert!(!told["points"].is_null(), "hose {case} has no shape: {told}");
        writeln!(upright, "{told}").unwrap();
    }
}

#[test]
fn random_bays_as_gltf() {
    let mut dice = Dice::new(SEED + 20);
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("outside");
    let mut file = file("gltf.jsonl");
    for case in 0..12 {
        let told = gltf::bay(&mut dice, case, &folder);
        assert!(told["stray"].as_f64().unwrap() < 0.01, "{told}");
        writeln!(file, "{told}").unwrap();
    }
}
