//! Fifty generated bays with a planted tube: how many get a route, and how soon; twenty without a way.
//!
//! Not a timing loop: each bay is asked once, as a person would. Prints wall time and processor time, for the machine
//! may have other work.
#![allow(clippy::expect_used, clippy::unwrap_used)] // a bench without its bays cannot go on

#[path = "../tests/route_bays/mod.rs"]
mod route_bays;

use std::time::Instant;

use baywright::route::{RouteAnswer, find_routes};
use route_bays::{Bay, bender, closed_bay, planted_bay};

/// Asks bays one after another; the answers, and how long each took, s.
fn asked(bays: impl Iterator<Item = Bay>) -> Vec<(Bay, RouteAnswer, f64)> {
    let bender = bender();
    bays.map(|bay| {
        let began = Instant::now();
        let answer = find_routes(&bay.ask(&bender)).expect("a question that can be asked");
        let took = began.elapsed().as_secs_f64();
        (bay, answer, took)
    })
    .collect()
}

fn told(what: &str, answers: &[(Bay, RouteAnswer, f64)]) {
    let mut times: Vec<f64> = answers.iter().map(|(_, _, took)| *took).collect();
    times.sort_by(f64::total_cmp);
    let found = answers.iter().filter(|(_, answer, _)| !answer.routes.is_empty()).count();
    println!(
        "{what}: {found} of {} have a route; median {:.2} s, longest {:.2} s",
        answers.len(),
        times[times.len() / 2],
        times[times.len() - 1]
    );
}

fn main() {
    let planted = asked((0..50).map(planted_bay));
    for (seed, (bay, answer, took)) in planted.iter().enumerate() {
        let best = answer.routes.iter().map(|route| route.room_mm).fold(f64::NAN, f64::max);
        println!(
            "bay {seed}: planted {} bends, {:.0} mm, {:.1} mm room; found {:?} bends, {:.0} mm at the shortest, {best:.1} mm room at most, {took:.2} s",
            bay.planted.bends.len(),
            bay.planted.length_mm(),
            bay.planted_room_mm,
            answer.routes.first().map(|route| route.bends()),
            answer.routes.iter().map(|route| route.length_mm).fold(f64::NAN, f64::min),
        );
    }
    told("planted", &planted);
    told("closed", &asked((0..20).map(closed_bay)));
}
