//! How long a question between two meshes takes. One iteration asks it at all poses that are apart (contact: at
//! all 200).

#[path = "bodies/mod.rs"]
mod bodies;

use std::hint::black_box;
use std::time::Duration;

use baywright::clearance::{IndexedShape, gap, gap_under, touches};
use baywright::solid::{Cloud, Shape};
use baywright::space::{Length, Pose};
use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use nalgebra::{Point3, Translation3, UnitQuaternion};

fn questions(c: &mut Criterion) {
    for case in bodies::cases() {
        let [fixed, moving] = case.indexed();
        let mut group = c.benchmark_group(case.name);
        group.sample_size(10).measurement_time(Duration::from_secs(4));
        let apart: Vec<_> = case.poses.iter().filter(|pose| !touches(&fixed, &moving, pose)).collect();
        group.throughput(Throughput::Elements(apart.len() as u64));
        group.bench_function("gap", |b| {
            b.iter(|| apart.iter().map(|pose| gap(&fixed, &moving, pose).gap.mm()).sum::<f64>());
        });
        group.bench_function("gap_under 25 mm", |b| {
            let limit = Length::from_mm(25.0);
            b.iter(|| {
                for pose in &apart {
                    black_box(gap_under(&fixed, &moving, pose, limit));
                }
            });
        });
        group.throughput(Throughput::Elements(case.poses.len() as u64));
        group.bench_function("touches", |b| {
            b.iter(|| case.poses.iter().filter(|pose| touches(&fixed, &moving, pose)).count());
        });
        group.finish();
    }
}

fn trees(c: &mut Criterion) {
    let shape = std::sync::Arc::new(Shape::Mesh(bodies::torus(120.0, 40.0, 1000, 500)));
    let mut group = c.benchmark_group("tree");
    group.sample_size(10).throughput(Throughput::Elements(1_000_000));
    group.bench_function("1 000 000 triangles", |b| b.iter(|| IndexedShape::new(shape.clone())));
    group.finish();
}

/// A bay scanned whole: a floor and three walls, wavy and with scatter, 5 000 000 points, and a bent ring of 100 000
/// triangles at forty places in it.
fn clouds(c: &mut Criterion) {
    let mut dice = bodies::Dice::new(17);
    let points: Vec<Point3<f64>> = (0..5_000_000)
        .map(|k| {
            let (u, v) = (500.0 * (dice.roll() + 1.0), 350.0 * (dice.roll() + 1.0));
            let off = 8.0 * (u / 40.0).sin() * (v / 31.0).cos() + 0.3 * dice.roll();
            match k % 4 {
                0 => Point3::new(u, v, off),
                1 => Point3::new(u, off, v),
                2 => Point3::new(u, 700.0 + off, v),
                _ => Point3::new(off, v, 0.7 * u),
            }
        })
        .collect();
    let shape = std::sync::Arc::new(Shape::Cloud(Cloud::new(points, 0.5)));
    let mut group = c.benchmark_group("cloud of 5 000 000 points");
    group.sample_size(10).measurement_time(Duration::from_secs(4));
    group.bench_function("index", |b| b.iter(|| IndexedShape::new(shape.clone())));
    let cloud = IndexedShape::new(shape);
    println!("bytes over those of the points: {:.2}", cloud.bytes() as f64 / (5_000_000.0 * 24.0));
    let ring = IndexedShape::new(std::sync::Arc::new(Shape::Mesh(bodies::torus(120.0, 25.0, 500, 100))));
    let poses: Vec<Pose> = (0..40)
        .map(f64::from)
        .map(|i| {
            let turn = UnitQuaternion::from_euler_angles(0.3 * i, 0.2 * i, 0.1);
            Pose::from_parts(Translation3::new(200.0 + 15.0 * i, 180.0 + 8.0 * i, 160.0 + 9.0 * i), turn)
        })
        .filter(|pose| !touches(&cloud, &ring, pose))
        .collect();
    let slowest = poses.iter().map(|pose| {
        let start = std::time::Instant::now();
        black_box(gap(&cloud, &ring, pose));
        start.elapsed()
    });
    println!("slowest of {} places: {:?}", poses.len(), slowest.max());
    group.throughput(Throughput::Elements(poses.len() as u64));
    group.bench_function("gap to 100 000 triangles", |b| {
        b.iter(|| poses.iter().map(|pose| gap(&cloud, &ring, pose).gap.mm()).sum::<f64>());
    });
    group.finish();
}

criterion_group!(benches, questions, trees, clouds);
criterion_main!(benches);
