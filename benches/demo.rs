//! The demo's checks after loading: what a fabricator waits for.
#![allow(clippy::expect_used)] // a bench without its demo cannot go on

use std::cell::RefCell;
use std::path::Path;
use std::time::Duration;

use baywright::check::{CheckOptions, Checker, Poses};
use baywright::scene::Scene;
use baywright::script::{Asker, Gap, ScriptOptions, When, run_script};
use criterion::{Criterion, criterion_group, criterion_main};

struct Ask(RefCell<Checker>);

impl Asker for Ask {
    fn gap(&self, scene: &Scene, first: &str, second: &str, when: When) -> Result<Gap, String> {
        let poses = if when == When::AtRest { Poses::Rest } else { Poses::Movement };
        let gap = self.0.borrow_mut().pair_gap(scene, first, second, poses).ok_or("no such pair")?;
        Ok(Gap {
            gap: gap.lower,
            on_first: gap.place.on_first,
            on_second: gap.place.on_second,
            pose: gap.place.pose,
        })
    }
}

fn fitted_out(scene: &Scene, script: &str) -> Scene {
    let folder = Path::new("demo-scenes/van");
    let source = std::fs::read_to_string(folder.join(script)).expect("the demo's script");
    let options =
        ScriptOptions { units: scene.units, folder: Some(folder.to_path_buf()), ..ScriptOptions::default() };
    run_script(&source, script, scene, &Ask(RefCell::default()), &options).expect("it runs").scene
}

fn demo(c: &mut Criterion) {
    let van = Scene::load(Path::new("demo-scenes/van/scene.yaml")).expect("the demo");
    let first = fitted_out(&van, "scripts/first-position.rhai");
    let second = fitted_out(&van, "scripts/second-position.rhai");
    let mut group = c.benchmark_group("demo");
    group.sample_size(10).measurement_time(Duration::from_secs(8));
    group.bench_function("load", |b| b.iter(|| Scene::load(Path::new("demo-scenes/van/scene.yaml"))));
    for (name, scene) in [("bare", &van), ("first position", &first), ("second position", &second)] {
        let options = CheckOptions::default();
        let before = (!std::ptr::eq(scene, &van)).then_some(&van);
        group.bench_function(format!("check, {name}"), |b| {
            b.iter(|| Checker::new().check(scene, before, &options));
        });
        let mut warm = Checker::new();
        group.bench_function(format!("check again, {name}"), |b| {
            b.iter(|| warm.check(scene, before, &options));
        });
        group.bench_function(format!("service points, {name}"), |b| b.iter(|| warm.reach(scene, None)));
    }
    group.finish();
}

criterion_group!(benches, demo);
criterion_main!(benches);
