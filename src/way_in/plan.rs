//! The question and its answer.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use rayon::prelude::*;

use super::bay::{Bay, Obstacle};
use super::grow::Gait;
use super::lane::{Lane, Round, Task};
use super::mover::Mover;
use crate::clearance::IndexedShape;
use crate::space::{Bounds, Pose};

/// What is asked.
#[derive(Clone, Debug)]
pub struct Ask<'a> {
    /// The body.
    pub body: &'a IndexedShape,
    /// What stands in its way.
    pub obstacles: &'a [Obstacle],
    /// Poses outside; one is enough.
    pub starts: &'a [Pose],
    /// The mounted pose.
    pub goal: Pose,
    /// Where the middle of the body may be.
    pub room: Bounds,
    /// Travel of the farthest point between two looks, mm.
    pub step_mm: f64,
    /// Seed of all chance.
    pub seed: u64,
    /// Time at most.
    pub time: Duration,
    /// Searches side by side.
    pub lanes: usize,
}

/// A way.
#[derive(Clone, Debug)]
pub struct Way {
    /// world_from_body, from outside to the mounted pose.
    pub poses: Vec<Pose>,
}

/// The answer.
#[derive(Clone, Debug)]
pub enum Answer {
    /// A way.
    Way(Way),
    /// None found.
    NoneFound,
}

/// Looks for a way.
pub fn plan(ask: &Ask<'_>) -> Answer {
    let mover = Mover::new(ask.body);
    let bay = Bay::new(&mover, ask.obstacles);
    let gait = Gait {
        step_mm: ask.step_mm,
        margin_mm: 0.02 * ask.step_mm,
        spacing_mm: 3.0 * ask.step_mm,
        slides: 24,
    };
    let task = Task {
        bay: &bay,
        room: ask.room,
        starts: ask.starts.iter().map(|pose| mover.world_from_middle(pose)).collect(),
        goal: mover.world_from_middle(&ask.goal),
        gait,
        range_mm: 0.5 * mover.reach_mm,
        most_nodes: 1_500_000,
    };
    let begin = Instant::now();
    let mut lanes: Vec<Lane> =
        (0..ask.lanes as u64).map(|lane| Lane::new(&task, ask.seed * 64 + lane)).collect();
    let stopped = AtomicBool::new(false);
    let stop = || {
        if begin.elapsed() > ask.time {
            stopped.store(true, Ordering::Relaxed);
        }
        stopped.load(Ordering::Relaxed)
    };
    let mut checks = 2000;
    loop {
        let rounds: Vec<Round> = lanes.par_iter_mut().map(|lane| lane.run(&task, checks, &stop)).collect();
        if let Some(Round::Way(way)) = rounds.into_iter().find(|round| matches!(round, Round::Way(_))) {
            if std::env::var("WAYDEBUG").is_ok() {
                for lane in &lanes { eprintln!("  checks {} sizes {:?} refused {}", lane.asked.checks, lane.tree_sizes(), lane.refused); }
            }
            return Answer::Way(Way { poses: way.iter().map(|pose| mover.world_from_body(pose)).collect() });
        }
        if stopped.load(Ordering::Relaxed) || lanes.iter().all(|lane| lane.nodes() > task.most_nodes) {
            if std::env::var("WAYDEBUG").is_ok() {
                for lane in &lanes { eprintln!("  checks {} sizes {:?} refused {} closest {}", lane.asked.checks, lane.tree_sizes(), lane.refused, lane.closest.0); }
            }
            return Answer::NoneFound;
        }
        checks = (checks + checks / 4).min(checks + 100_000);
    }
}
