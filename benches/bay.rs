//! Whole bays: how long a full check takes, how long it takes to ask again after one candidate moved, and how both
//! grow with the number of bodies and of triangles.
//!
//! The bays are made here: bodies of all sorts in a grid with little room between them, a third of them on an
//! engine that rocks, some on a hood that closes.
#![allow(clippy::expect_used)] // a bench without its bay cannot go on

#[path = "bodies/mod.rs"]
#[allow(dead_code)]
mod bodies;

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use baywright::check::{CheckOptions, Checker, KeptPairs};
use baywright::clearance::{IndexedShape, gap, touches};
use baywright::scene::{Body, Scene};
use baywright::solid::{Mesh, MeshKind, Shape};
use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use nalgebra::{Isometry3, Point3, Translation3, Vector3};

const EMPTY: &str = "
baywright: 1
units: mm
carriers:
  engine:
    rock: {through: [600, 0, 430], along: rearward, forward: 3 deg, reverse: 2 deg}
  hood:
    hinge: {through: [1200, 0, 1060], along: right, from: 0 deg, to: 60 deg}
rules:
  - {between: [any, any], least: 5, because: 'nothing may chafe'}
bodies:
  chassis-like: {shape: {box: [1, 1, 1]}, carried_by: chassis}
  engine-like: {shape: {box: [1, 1, 1]}, carried_by: engine}
  hood-like: {shape: {box: [1, 1, 1]}, carried_by: hood}
";

/// From the middle of one body to that of the next, mm; the bodies are up to 120 across.
const STEP_MM: f64 = 135.0;

/// Some body of about `triangles` triangles that fits into a ball of 60 mm.
fn shape(kind: usize, triangles: usize) -> Mesh {
    let across = ((triangles as f64 / 5.0).sqrt() as u32).max(6);
    let around = (triangles as u32 / 2 / across).max(6);
    let (mesh, size) = match kind % 3 {
        0 => (bodies::torus(42.0, 14.0, around, across), 1.0),
        1 => (bodies::ribbed_housing(around, across), 0.45),
        _ => (bodies::bent_pipe(around, across), 0.17),
    };
    let vertices = mesh.vertices.iter().map(|p| Point3::from(p.coords * size)).collect();
    Mesh::new(vertices, mesh.triangles, MeshKind::Closed)
}

fn bay(count: usize, triangles: usize) -> Scene {
    let mut scene = Scene::load_text(Path::new("bay.yaml"), EMPTY).expect("the empty bay");
    let models = std::mem::take(&mut scene.bodies);
    let mut dice = bodies::Dice::new(7);
    let side = (count as f64 / 4.0).sqrt().ceil() as usize;
    for at in 0..count {
        let (layer, place) = (at / (side * side), at % (side * side));
        let (row, column) = (place / side, place % side);
        let spot = Vector3::new(
            600.0 + (column as f64 - side as f64 / 2.0) * STEP_MM,
            (row as f64 - side as f64 / 2.0) * STEP_MM,
            500.0 + layer as f64 * STEP_MM,
        );
        // What is near the engine's axis is the engine's; the hood is before its hinge. In a great bay the rest
        // stands still, as it does in a shop: nothing rocks at an arm of two metres.
        let model = if layer == 3 && spot.x < 1100.0 && spot.y.abs() < 700.0 {
            2
        } else if layer < 3 && spot.y.abs() < 200.0 && (spot.x - 600.0).abs() < 700.0 {
            1
        } else {
            0
        };
        let turned = dice.pose(6.0);
        scene.bodies.push(Body {
            name: format!("body-{at}"),
            shape: Arc::new(Shape::Mesh(shape(at, triangles))),
            world_from_body: Isometry3::from_parts(
                Translation3::from(spot + turned.translation.vector),
                turned.rotation,
            ),
            ..models[model].clone()
        });
    }
    scene
}

/// A bay that grows and stays as full as it was: slices of ten bodies side by side along the axis about which
/// engine and hood turn, four of each slice on the engine, one on the hood. So the pairs that may meet are as many
/// for each body whatever its size; `bay` fills up instead.
fn long_bay(count: usize, triangles: usize) -> Scene {
    let text = EMPTY.replace("along: rearward", "along: right");
    let mut scene = Scene::load_text(Path::new("bay.yaml"), &text).expect("the empty bay");
    let models = std::mem::take(&mut scene.bodies);
    let mut dice = bodies::Dice::new(7);
    for at in 0..count {
        let (slice, place) = (at / 10, at % 10);
        // The hood's hangs one step higher: it swings through the place above its own.
        let layer = if place == 9 { 3 } else { place / 5 };
        let spot = Vector3::new(
            (place % 5) as f64 * STEP_MM + 330.0,
            slice as f64 * STEP_MM,
            layer as f64 * STEP_MM + 430.0,
        );
        let model = if place == 9 { 2 } else { usize::from([1, 2, 6, 7].contains(&place)) };
        let turned = dice.pose(6.0);
        let at_spot = Translation3::from(spot + turned.translation.vector);
        scene.bodies.push(Body {
            name: format!("body-{at}"),
            shape: Arc::new(Shape::Mesh(shape(at, triangles))),
            world_from_body: Isometry3::from_parts(at_spot, turned.rotation),
            ..models[model].clone()
        });
    }
    scene
}

fn options() -> CheckOptions {
    CheckOptions { kept_pairs: KeptPairs::Examined, cures: 0, service: false }
}

/// The scene with one body of the engine's a little aside.
fn moved(scene: &Scene, by_mm: f64) -> Scene {
    let mut scene = scene.clone();
    let at = scene.bodies.len() / 2;
    scene.bodies[at].world_from_body.translation.vector.x += by_mm;
    scene
}

fn checks(c: &mut Criterion) {
    let mut group = c.benchmark_group("bay of 150 bodies, 2 000 000 triangles");
    group.sample_size(10).measurement_time(Duration::from_secs(10));
    let scene = bay(150, 2_000_000 / 150);
    group.bench_function("check, trees included", |b| {
        b.iter(|| Checker::new().check(&scene, None, &options()))
    });
    let mut checker = Checker::new();
    let found = checker.check(&scene, None, &options());
    println!("pairs: {:?}, findings {}", found.pairs, found.list.len());
    let mut by_mm = 0.0;
    for (case, far_mm) in
        [("one candidate moved, clear", 0.0), ("one candidate moved, into its neighbour", 95.0)]
    {
        group.bench_function(case, |b| {
            b.iter_batched(
                || {
                    by_mm = (by_mm + 0.37) % 4.0;
                    moved(&scene, far_mm + by_mm)
                },
                |scene| checker.check(&scene, None, &options()),
                criterion::BatchSize::PerIteration,
            )
        });
        let found = checker.check(&moved(&scene, far_mm), None, &options());
        println!("{case}: {} findings", found.list.len());
    }
    group.finish();
}

fn growth(c: &mut Criterion) {
    let mut group = c.benchmark_group("growth with triangles");
    group.sample_size(40).measurement_time(Duration::from_secs(3));
    let mut dice = bodies::Dice::new(99);
    let poses: Vec<_> = (0..100).map(|_| dice.pose(230.0)).collect();
    for across in [16, 32, 64, 128, 256] {
        let index = |mesh| IndexedShape::new(Arc::new(Shape::Mesh(mesh)));
        let one = index(bodies::torus(120.0, 40.0, across * 5 / 2, across));
        let poses: Vec<_> = poses.iter().filter(|pose| !touches(&one, &one, pose)).collect();
        let id = BenchmarkId::from_parameter(across * across * 5);
        group.bench_with_input(id, &poses, |b, poses| {
            b.iter(|| poses.iter().map(|pose| gap(&one, &one, pose).gap.mm()).sum::<f64>())
        });
    }
    group.finish();
    for (name, bay_of) in
        [("growth with bodies", long_bay as fn(usize, usize) -> Scene), ("growth as the bay fills up", bay)]
    {
        let mut group = c.benchmark_group(name);
        group.sample_size(40).measurement_time(Duration::from_secs(2));
        for count in [10, 20, 40, 80, 160, 320, 640, 1280, 2000] {
            let scene = bay_of(count, 400);
            let mut warm = Checker::new();
            let found = warm.check(&scene, None, &options());
            println!("{name}, {count} bodies: {:?}", found.pairs);
            group.bench_with_input(BenchmarkId::from_parameter(count), &scene, |b, scene| {
                b.iter_batched(
                    || warm.forgetting_answers(),
                    |mut checker| checker.check(scene, None, &options()),
                    criterion::BatchSize::PerIteration,
                )
            });
        }
        group.finish();
    }
}

criterion_group!(benches, checks, growth);
criterion_main!(benches);
