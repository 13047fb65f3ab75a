//! Service points of a full bay: 150 bodies, 30 points of all kinds; and one point when a candidate moves.
#![allow(clippy::expect_used)] // a bench without its bay cannot go on

use std::fmt::Write as _;
use std::hint::black_box;
use std::time::Duration;

use baywright::check::Checker;
use baywright::scene::Scene;
use criterion::{Criterion, criterion_group, criterion_main};

/// Whole-number dice (an additive sequence by the golden ratio), 0 to 1.
struct Dice(f64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = (self.0 + 0.618_033_988_749_895).fract();
        // Neighbours of the sequence are far apart; a second fold makes them unlike too.
        (self.0 * 97.31 + 0.17).fract()
    }
    fn within(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * self.roll()
    }
}

/// What is done at the 30 points, in turn.
const KINDS: [&str; 10] = [
    "see: {body: NAME, at: [AT], along: up}",
    "touch: {body: NAME, at: [AT]}",
    "wrench: {body: NAME, along: up, size: 13}",
    "turn: {body: NAME, at: [AT], along: up, grip_radius: 60}",
    "pull: {body: NAME, at: [AT], along: up, length: 150}",
    "pour: {body: NAME, at: [AT], along: up}",
    "plug: {body: NAME, at: [AT], along: up}",
    "touch: {body: NAME, at: [AT]}",
    "clamp: {body: NAME, along: up, size: 10}",
    "lift-out: {body: NAME, along: up, travel: 200}",
];

/// A bay 1300 by 1300 by 700 with 30 served bodies, 119 others about them and one candidate.
fn bay(points: impl Iterator<Item = usize>, shift: f64) -> String {
    let mut dice = Dice(0.5);
    let mut text = "baywright: 1
people: {standing: {left: {shoulder: [500, -800, 1300], reach: 1200}, right: {shoulder: [500, 800, 1300], reach: 1200}}}
bodies:
  floor: {shape: {box: [1300, 1300, 10]}, at: [600, 0, 195]}
"
    .to_owned();
    let served: Vec<[f64; 3]> = (0..30)
        .map(|i| {
            [
                100.0 + 200.0 * f64::from(i % 6),
                -480.0 + 240.0 * f64::from(i / 6),
                520.0 + dice.within(0.0, 200.0),
            ]
        })
        .collect();
    // Writing to a String cannot fail.
    for (i, [x, y, z]) in served.iter().enumerate() {
        let _ = writeln!(
            text,
            "  served-{i}: {{shape: {{cylinder: {{diameter: 22, length: 12}}}}, at: [{x}, {y}, {z}], sigma: 0.5}}"
        );
    }
    let mut others = 0;
    while others < 118 {
        let size: [f64; 3] = std::array::from_fn(|_| dice.within(30.0, 140.0));
        let at = [dice.within(0.0, 1200.0), dice.within(-600.0, 600.0), dice.within(230.0, 760.0)];
        // Not over a served body, nor in it: 25 beside it at least.
        let free = served.iter().all(|s| {
            let beside = (0..2).any(|a| (at[a] - s[a]).abs() > 0.5 * size[a] + 25.0);
            beside || at[2] + 0.5 * size[2] < s[2] - 8.0
        });
        if !free {
            continue;
        }
        let [x, y, z] = at;
        let shape = match others % 3 {
            0 => format!("box: {size:?}"),
            1 => format!("cylinder: {{diameter: {}, length: {}}}", size[0].min(size[1]), size[2]),
            _ => {
                let ends = [[x - 60.0, y, z], [x + 40.0, y, z], [x + 40.0, y + 90.0, z]];
                let _ = writeln!(
                    text,
                    "  other-{others}: {{shape: {{tube: {{diameter: 24, points: {ends:?}, bend_radius: 36}}}}, sigma: 0.5}}"
                );
                others += 1;
                continue;
            }
        };
        let _ = writeln!(text, "  other-{others}: {{shape: {{{shape}}}, at: [{x}, {y}, {z}], sigma: 0.5}}");
        others += 1;
    }
    let _ = writeln!(
        text,
        "  candidate: {{shape: {{box: [120, 90, 60]}}, at: [{}, 0, 800], candidate: true}}\nservice:",
        400.0 + shift
    );
    for i in points {
        let [x, y, z] = served[i];
        let kind = KINDS[i % KINDS.len()]
            .replace("NAME", &format!("served-{i}"))
            .replace("AT", &format!("{x}, {y}, {}", z + 6.0));
        let _ = writeln!(text, "  point-{i}: {{{kind}}}");
    }
    text
}

fn load(text: &str) -> Scene {
    let folder = std::env::temp_dir();
    Scene::load_text(&folder.join("bay.yaml"), text).expect("the bay")
}

fn service(c: &mut Criterion) {
    let mut group = c.benchmark_group("service");
    group.sample_size(10).measurement_time(Duration::from_secs(10));
    let all = load(&bay(0..30, 0.0));
    assert_eq!((all.bodies.len(), all.service.len()), (150, 30));
    group.bench_function("30 points, 150 bodies", |b| b.iter(|| Checker::new().reach(black_box(&all), None)));
    for (i, kind) in KINDS.iter().enumerate() {
        let word = kind.split(':').next().unwrap_or_default();
        if i == 7 {
            continue; // a second touch
        }
        let scenes = [load(&bay(i..=i, 0.0)), load(&bay(i..=i, 7.0))];
        let mut warm = Checker::new();
        let mut turn = 0;
        group.bench_function(format!("one point, a candidate moves: {word}"), |b| {
            b.iter(|| {
                turn += 1;
                warm.reach(black_box(&scenes[turn % 2]), None)
            });
        });
    }
    group.finish();
}

criterion_group!(benches, service);
criterion_main!(benches);
