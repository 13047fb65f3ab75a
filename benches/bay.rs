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
        // The top layer is the hood's, the middle of the lower ones the engine's.
        let middle = |i: usize| 3 * i >= side && 3 * i < 2 * side + 1;
        let model = if layer == 3 {
            2
        } else if middle(row) && middle(column) {
            1
        } else {
            0
        };
        let spot = Vector3::new(
            column as f64 * 118.0,
            (row as f64 - side as f64 / 2.0) * 118.0,
            layer as f64 * 118.0 + 500.0,
        );
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
    group.bench_function("one candidate moved", |b| {
        b.iter_batched(
            || {
                by_mm = (by_mm + 0.37) % 5.0;
                moved(&scene, by_mm)
            },
            |scene| checker.check(&scene, None, &options()),
            criterion::BatchSize::PerIteration,
        )
    });
    group.finish();
}

fn growth(c: &mut Criterion) {
    let mut group = c.benchmark_group("growth with bodies");
    group.sample_size(10).measurement_time(Duration::from_secs(2));
    for count in [10, 30, 100, 300, 1000, 2000] {
        let scene = bay(count, 400);
        let mut warm = Checker::new();
        warm.check(&scene, None, &options());
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

criterion_group!(benches, checks, growth);
criterion_main!(benches);
