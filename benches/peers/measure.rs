//! Measures our answers pose by pose, and writes bodies, poses, answers and times for `run.py` to lay beside
//! those of general-purpose libraries. Started by `run.py`; by itself it only writes.
#![allow(clippy::expect_used, clippy::unwrap_used)] // a bench that cannot write cannot go on

#[path = "../bodies/mod.rs"]
mod bodies;

use std::fs;
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::time::Instant;

use baywright::clearance::{Follow, IndexedShape, gap, gap_under, touches};
use baywright::solid::Mesh;
use baywright::space::{Length, Pose};
use nalgebra::{Isometry3, UnitQuaternion, Vector3};
use serde_json::{Value, json};

/// The limit of `gap_under`, mm.
const LIMIT_MM: f64 = 25.0;

/// Best of five, microseconds: what the machine can do when nobody disturbs it.
fn time_us<T>(mut ask: impl FnMut() -> T) -> f64 {
    (0..5)
        .map(|_| {
            let start = Instant::now();
            black_box(ask());
            start.elapsed().as_secs_f64() * 1e6
        })
        .fold(f64::INFINITY, f64::min)
}

/// As [`time_us`], for the question after a small move.
fn warm_us(fixed: &IndexedShape, moving: &IndexedShape, pose: &Pose, near: &Pose) -> f64 {
    (0..5)
        .map(|_| {
            let mut follow = Follow::new(fixed.clone(), moving.clone());
            follow.gap(pose);
            let start = Instant::now();
            black_box(follow.gap(near));
            start.elapsed().as_secs_f64() * 1e6
        })
        .fold(f64::INFINITY, f64::min)
}

fn write_mesh(folder: &Path, name: &str, mesh: &Mesh) {
    let vertices: Vec<u8> =
        mesh.vertices.iter().flat_map(|v| [v.x, v.y, v.z]).flat_map(f64::to_le_bytes).collect();
    let triangles: Vec<u8> = mesh.triangles.iter().flatten().flat_map(|i| i.to_le_bytes()).collect();
    fs::write(folder.join(format!("{name}.f64")), vertices).unwrap();
    fs::write(folder.join(format!("{name}.u32")), triangles).unwrap();
}

/// The pose a millimetre and a tenth of a degree on.
fn nudged(pose: &Pose) -> Pose {
    let turn = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), 0.1f64.to_radians());
    Isometry3::from_parts(
        (pose.translation.vector + Vector3::new(0.6, 0.6, 0.5)).into(),
        turn * pose.rotation,
    )
}

fn main() {
    let folder = PathBuf::from(std::env::var_os("BAYWRIGHT_PEERS").unwrap_or_else(|| "target/peers".into()));
    fs::create_dir_all(&folder).unwrap();
    let mut told = Vec::new();
    for (number, case) in bodies::cases().iter().enumerate() {
        let (fixed_file, moving_file) = (format!("{number}-fixed"), format!("{number}-moving"));
        write_mesh(&folder, &fixed_file, &case.fixed);
        write_mesh(&folder, &moving_file, &case.moving);
        let [fixed, moving] = case.indexed();
        let limit = Length::from_mm(LIMIT_MM);
        let poses: Vec<Value> = case
            .poses
            .iter()
            .map(|pose| {
                let near = nudged(pose);
                let stays_apart = !touches(&fixed, &moving, &near);
                let meet = touches(&fixed, &moving, pose);
                // Peers tell no depth between meshes, so depths are not asked for here.
                let apart = |ask: &dyn Fn() -> f64| if meet { 0.0 } else { ask() };
                let matrix = pose.to_homogeneous();
                let rows: Vec<Vec<f64>> =
                    matrix.row_iter().map(|row| row.iter().copied().collect()).collect();
                json!({
                    "matrix": rows,
                    "gap_mm": apart(&|| gap(&fixed, &moving, pose).gap.mm()),
                    "gap_us": apart(&|| time_us(|| gap(&fixed, &moving, pose))),
                    "near_apart": stays_apart,
                    "warm_us": apart(&|| warm_us(&fixed, &moving, pose, &near)),
                    "touches": meet,
                    "touches_us": time_us(|| touches(&fixed, &moving, pose)),
                    "under_us": apart(&|| time_us(|| gap_under(&fixed, &moving, pose, limit))),
                })
            })
            .collect();
        told.push(json!({
            "name": case.name, "fixed": fixed_file, "moving": moving_file, "limit_mm": LIMIT_MM,
            "triangles": [case.fixed.triangles.len(), case.moving.triangles.len()],
            "bytes": [fixed.bytes(), moving.bytes()],
            "poses": poses,
        }));
    }
    fs::write(folder.join("ours.json"), serde_json::to_vec(&Value::from(told)).unwrap()).unwrap();
}
