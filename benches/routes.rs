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

/// Processor time of all of this program's threads so far, s, where the system tells it: fields 14 and 15 of Linux's
/// `/proc/self/stat`, in hundredths.
fn processor_s() -> Option<f64> {
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    let after_name = stat.rsplit_once(')')?.1;
    let field = |at: usize| after_name.split_whitespace().nth(at)?.parse::<f64>().ok();
    Some((field(11)? + field(12)?) / 100.0)
}

/// How long an answer took, s.
#[derive(Clone, Copy)]
struct Took {
    wall: f64,
    processor: f64,
}

/// Asks bays one after another; the answers, and how long each took.
fn asked(bays: impl Iterator<Item = Bay>) -> Vec<(Bay, RouteAnswer, Took)> {
    let bender = bender();
    bays.map(|bay| {
        let (began, spent) = (Instant::now(), processor_s());
        let answer = find_routes(&bay.ask(&bender)).expect("a question that can be asked");
        let wall = began.elapsed().as_secs_f64();
        let processor = processor_s().zip(spent).map_or(f64::NAN, |(now, before)| now - before);
        (bay, answer, Took { wall, processor })
    })
    .collect()
}

fn told(what: &str, answers: &[(Bay, RouteAnswer, Took)]) {
    let sorted = |of: fn(&Took) -> f64| {
        let mut times: Vec<f64> = answers.iter().map(|(_, _, took)| of(took)).collect();
        times.sort_by(f64::total_cmp);
        times
    };
    let (times, spent) = (sorted(|took| took.wall), sorted(|took| took.processor));
    let found = answers.iter().filter(|(_, answer, _)| !answer.routes.is_empty()).count();
    println!(
        "{what}: {found} of {} have a route; by the clock median {:.2} s, longest {:.2} s; processor median {:.2} s, most {:.2} s",
        answers.len(),
        times[times.len() / 2],
        times[times.len() - 1],
        spent[spent.len() / 2],
        spent[spent.len() - 1]
    );
}

fn main() {
    let planted = asked((0..50).map(planted_bay));
    for (seed, (bay, answer, took)) in planted.iter().enumerate() {
        let best = answer.routes.iter().map(|route| route.room_mm).fold(f64::NAN, f64::max);
        println!(
            "bay {seed}: planted {} bends, {:.0} mm, {:.1} mm room; found {:?} bends, {:.0} mm at the shortest, {best:.1} mm room at most, {:.2} s, processor {:.2} s",
            bay.planted.bends.len(),
            bay.planted.length_mm(),
            bay.planted_room_mm,
            answer.routes.first().map(|route| route.bends()),
            answer.routes.iter().map(|route| route.length_mm).fold(f64::NAN, f64::min),
            took.wall,
            took.processor,
        );
    }
    told("planted", &planted);
    told("closed", &asked((0..20).map(closed_bay)));
}
