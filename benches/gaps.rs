//! How long a question between two meshes takes. One iteration asks it at all poses that are apart (contact: at
//! all 200).

#[path = "bodies/mod.rs"]
mod bodies;

use std::hint::black_box;
use std::time::Duration;

use baywright::clearance::{IndexedShape, gap, gap_under, touches};
use baywright::solid::Shape;
use baywright::space::Length;
use criterion::{Criterion, Throughput, criterion_group, criterion_main};

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

criterion_group!(benches, questions, trees);
criterion_main!(benches);
