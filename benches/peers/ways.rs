//! Ways in: writes the puzzles of `benches/puzzles` for a peer, and times our planner on them.
//!
//! `ways.py` runs this and the peer. From the environment: `BAYWRIGHT_PEERS` the folder to write to, `WAYS_SEEDS` how
//! many seeds, `WAYS_SECONDS` the time a seed, `WAYS_LANES` searches side by side, `WAYS_ONLY` a part of a name.

#![allow(clippy::expect_used)] // a bench that cannot write its files has nothing to measure

#[path = "../puzzles/mod.rs"]
mod puzzles;

use std::fs;
use std::io::Write;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use baywright::clearance::IndexedShape;
use baywright::solid::{Mesh, MeshFormat, MeshKind, Shape, write_mesh};
use baywright::space::{Bounds, Length, Pose};
use baywright::way_in::{Answer, Finish, Obstacle, Options, WayAsk, way_in};
use nalgebra::{Point3, Translation3};

fn number(name: &str, otherwise: f64) -> f64 {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(otherwise)
}

/// The same body with its frame in the middle of its box, so that both planners turn it about the same point.
fn middled(mesh: &Mesh) -> (Mesh, Point3<f64>) {
    let middle = Bounds::of_points(&mesh.vertices).center();
    let vertices = mesh.vertices.iter().map(|p| Point3::from(p - middle)).collect();
    (Mesh::new(vertices, mesh.triangles.clone(), MeshKind::Closed), middle)
}

fn write(folder: &Path, puzzle: &puzzles::Puzzle) {
    fs::create_dir_all(folder).expect("folder");
    let (moving, middle) = middled(&puzzle.moving);
    for (name, mesh) in [("fixed.obj", &puzzle.fixed), ("moving.obj", &moving)] {
        let mut out = std::io::BufWriter::new(fs::File::create(folder.join(name)).expect("file"));
        write_mesh(&mut out, mesh, MeshFormat::Obj).expect("mesh");
        out.flush().expect("flush");
    }
    let numbers = |pose: &Pose| {
        let pose = pose * Translation3::from(middle.coords);
        let (t, q) = (pose.translation.vector, pose.rotation.coords);
        [t.x, t.y, t.z, q.x, q.y, q.z, q.w]
    };
    let far = moving.vertices.iter().map(|p| p.coords.norm()).fold(0.0, f64::max);
    let mean =
        moving.vertices.iter().map(|p| p.coords.norm_squared()).sum::<f64>() / moving.vertices.len() as f64;
    let document = serde_json::json!({
        "name": puzzle.name,
        "start": numbers(&puzzle.start), "goal": numbers(&puzzle.goal),
        "low": [puzzle.bounds.min.x, puzzle.bounds.min.y, puzzle.bounds.min.z],
        "high": [puzzle.bounds.max.x, puzzle.bounds.max.y, puzzle.bounds.max.z],
        "step_mm": puzzle.step_mm, "reach_mm": far, "spread_mm": mean.sqrt(),
    });
    fs::write(folder.join("puzzle.json"), document.to_string()).expect("json");
}

/// Processor time of this process so far, all threads; zero where the system does not tell.
fn processor_seconds() -> f64 {
    let text = fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields: Vec<&str> = text.rsplit(')').next().unwrap_or_default().split_whitespace().collect();
    let ticks = |at: usize| fields.get(at).and_then(|text| text.parse::<f64>().ok()).unwrap_or(0.0);
    (ticks(11) + ticks(12)) / 100.0
}

fn main() {
    let folder = std::env::var("BAYWRIGHT_PEERS").unwrap_or_else(|_| "target/peers".to_owned());
    let only = std::env::var("WAYS_ONLY").unwrap_or_default();
    let seconds = number("WAYS_SECONDS", 60.0);
    for (at, puzzle) in puzzles::feasible().into_iter().chain(puzzles::wider::feasible()).enumerate() {
        if !puzzle.name.contains(&only) {
            continue;
        }
        write(&Path::new(&folder).join(format!("puzzle-{at}")), &puzzle);
        let index = |mesh: &Mesh| IndexedShape::new(Arc::new(Shape::Mesh(mesh.clone())));
        let (fixed, moving) = (index(&puzzle.fixed), index(&puzzle.moving));
        let obstacles =
            [Obstacle { shape: fixed, world_from_obstacle: Pose::identity(), room: Length::from_mm(0.0) }];
        for seed in 0..number("WAYS_SEEDS", 3.0) as u64 {
            let options = Options {
                seed,
                time: Duration::from_secs_f64(seconds),
                step_mm: Some(puzzle.step_mm),
                lanes: number("WAYS_LANES", 2.0) as usize,
                finish: Finish::AsFound,
                ..Options::default()
            };
            let ask = WayAsk {
                body: &moving,
                obstacles: &obstacles,
                starts: &[puzzle.start],
                goal: puzzle.goal,
                room: puzzle.bounds,
                options,
            };
            let begin = Instant::now();
            let worked = processor_seconds();
            let answer = way_in(&ask);
            let took = begin.elapsed().as_secs_f64();
            let (solved, effort, poses) = match &answer {
                Ok(Answer::Way(way)) => (true, way.effort, way.poses.len()),
                Ok(Answer::NoneFound(none)) => (false, none.effort, 0),
                _ => (false, Default::default(), 0),
            };
            println!(
                "{}",
                serde_json::json!({"puzzle": at, "name": puzzle.name, "fixed": puzzle.fixed.triangles.len(),
                    "moving": puzzle.moving.triangles.len(), "seed": seed, "solved": solved, "seconds": took,
                    "cpu_seconds": processor_seconds() - worked, "checks": effort.checks, "nodes": effort.nodes,
                    "poses": poses})
            );
        }
    }
}
