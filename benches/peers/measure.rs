//! Measures our answers pose by pose, and writes bodies, poses, answers and times for `run.py` to lay beside
//! those of general-purpose libraries. Started by `run.py`; by itself it only writes.
#![allow(clippy::expect_used, clippy::unwrap_used)] // a bench that cannot write cannot go on

#[path = "../bodies/mod.rs"]
mod bodies;

use std::fs;
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::time::Instant;

use baywright::clearance::{Follow, IndexedShape, closest, gap, gap_under, ray, touches};
use baywright::solid::{Mesh, MeshKind, Shape};
use baywright::space::{Length, Pose};
use nalgebra::{Isometry3, Point3, Unit, UnitQuaternion, Vector3};
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

/// Rays and points about one body: our answers, and microseconds for all of them.
fn rays_and_points(folder: &Path, name: &str, solid: &IndexedShape) -> Value {
    let mut dice = bodies::Dice::new(31);
    let (middle, half) = (solid.bounds().center(), (solid.bounds().max - solid.bounds().min) * 0.5);
    let within = |dice: &mut bodies::Dice, times: f64| {
        middle + Vector3::from_fn(|_, _| dice.roll() * times).component_mul(&half)
    };
    let points: Vec<Point3<f64>> = (0..ASKED).map(|_| within(&mut dice, 1.5)).collect();
    let along: Vec<Unit<Vector3<f64>>> =
        points.iter().map(|from| Unit::new_normalize(within(&mut dice, 1.0) - from)).collect();
    let rows = |rows: &mut dyn Iterator<Item = Vector3<f64>>| -> Vec<u8> {
        rows.flat_map(|v| [v.x, v.y, v.z]).flat_map(f64::to_le_bytes).collect()
    };
    fs::write(folder.join(format!("{name}.points")), rows(&mut points.iter().map(|p| p.coords))).unwrap();
    fs::write(folder.join(format!("{name}.along")), rows(&mut along.iter().map(|d| d.into_inner()))).unwrap();
    let far = Length::from_mm(1e5);
    let cast = |(from, along): (&Point3<f64>, &Unit<Vector3<f64>>)| {
        ray(solid, from, along, far).map_or(-1.0, |hit| hit.distance.mm())
    };
    let met: Vec<f64> = points.iter().zip(&along).map(cast).collect();
    let distances: Vec<f64> = points.iter().map(|p| closest(solid, p).distance_mm).collect();
    json!({
        "body": name, "closed": matches!(solid.shape().as_ref(), Shape::Mesh(m) if m.kind == MeshKind::Closed),
        "rays_mm": met, "rays_us": time_us(|| points.iter().zip(&along).map(cast).sum::<f64>()),
        "distances_mm": distances,
        "distances_us": time_us(|| points.iter().map(|p| closest(solid, p).distance_mm).sum::<f64>()),
    })
}

/// Rays, and points, asked of a body.
const ASKED: usize = 20_000;

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
            "poses": poses, "about_fixed": rays_and_points(&folder, &fixed_file, &fixed),
        }));
    }
    fs::write(folder.join("ours.json"), serde_json::to_vec(&Value::from(told)).unwrap()).unwrap();
}
