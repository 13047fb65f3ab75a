//! From question to answer: several searches in rounds of equal work, until one has found a way.

use std::sync::atomic::{AtomicU8, Ordering};
use std::time::Instant;

use nalgebra::Point3;
use rayon::prelude::*;

use super::answer::{Answer, Effort, Ended, Impossible, NoneFound, Way};
use super::ask::{Finish, WayAsk};
use super::bay::Bay;
use super::dice::Dice;
use super::error::WayError;
use super::grow::Gait;
use super::lane::{Lane, Round, Task};
use super::mover::{Mover, Step};
use super::proof::{Proof, prove};
use super::pull::pulls;
use super::shorten::shortened;
use super::tight::{Facets, Tight};
use crate::clearance::gap;
use crate::space::{Bounds, Length, Pose};

/// Poses kept by all searches at most: about 200 bytes each.
const MOST_NODES: usize = 3_000_000;

/// Looks for a way from outside to the mounted pose.
///
/// Every instant of a way that is returned keeps the room asked for, proved by gaps against the greatest travel of any
/// point of the body. `Impossible` is only returned with a proof. The same question with the same seed has the same
/// answer whatever the number of threads, unless its time runs out or it is cancelled.
///
/// # Errors
/// A question that lacks something: see [`WayError`].
pub fn way_in(ask: &WayAsk<'_>) -> Result<Answer, WayError> {
    ask.validate()?;
    let mover = Mover::new(ask.body);
    if mover.reach_mm <= 0.0 {
        return Err(WayError::NoBody);
    }
    let bay = Bay::new(&mover, ask.obstacles);
    if let Some((by, gap)) = not_free(ask, &ask.goal) {
        return Ok(Answer::Impossible(Impossible::GoalNotFree { by, gap }));
    }
    let mut starts = Vec::new();
    let mut first_stop = None;
    for start in ask.starts {
        match not_free(ask, start) {
            None => starts.push(mover.world_from_middle(start)),
            Some(stop) => first_stop = first_stop.or(Some(stop)),
        }
    }
    if let (true, Some((by, gap))) = (starts.is_empty(), first_stop) {
        return Ok(Answer::Impossible(Impossible::StartNotFree { by, gap }));
    }
    let step_mm = ask.options.step_mm.unwrap_or(0.01 * mover.reach_mm);
    let begin = Instant::now();
    let ended = AtomicU8::new(OPEN);
    let cancelled = || ask.options.cancel.is_some_and(|cancel| cancel.load(Ordering::Relaxed));
    let search_time = match ask.options.finish {
        Finish::AsFound => ask.options.time,
        Finish::Shortened => ask.options.time.mul_f64(1.0 - SHORTENING),
    };
    let stop = || {
        if cancelled() {
            ended.store(CANCELLED, Ordering::Relaxed);
        } else if begin.elapsed() > search_time {
            ended.store(LATE, Ordering::Relaxed);
        }
        ended.load(Ordering::Relaxed) != OPEN
    };
    let stop_shortening = || cancelled() || begin.elapsed() > ask.options.time;
    let facets = Facets::of(&bay);
    // Growth may look less often: nothing as thick as the body gets past anything between two looks, and what is found
    // is proved. A step that cannot be is taken again in finer ones.
    let thin_mm = Tight::thin_mm(&facets, &mut Dice::new(ask.options.seed)).unwrap_or(0.0);
    let look_mm = step_mm.max((0.3 * thin_mm).min(0.08 * mover.reach_mm));
    let gait = Gait { step_mm: look_mm, margin_mm: 0.02 * step_mm, spacing_mm: 2.0 * look_mm, slides: 24 };
    let lanes = ask.options.lanes.clamp(1, 64);
    let pulled = pulls(ask, &bay, gait.margin_mm, &stop);
    let task = Task {
        bay: &bay,
        room: room_of_middle(ask, &mover),
        starts,
        goal: mover.world_from_middle(&ask.goal),
        pulled,
        gait,
        range_mm: 0.5 * mover.reach_mm,
        most_nodes: MOST_NODES / lanes,
        facets,
        stop: &stop,
    };
    Ok(search(ask, &task, lanes, &ended, &stop_shortening))
}

const OPEN: u8 = 0;
const LATE: u8 = 1;
const CANCELLED: u8 = 2;

/// Share of the time that is kept for shortening what was found.
const SHORTENING: f64 = 0.15;

fn search(
    ask: &WayAsk<'_>,
    task: &Task<'_>,
    count: usize,
    ended: &AtomicU8,
    stop_shortening: &dyn Fn() -> bool,
) -> Answer {
    let seeds = (0..count as u64).map(|lane| ask.options.seed.wrapping_mul(1009).wrapping_add(lane));
    let mut lanes: Vec<Lane> = seeds.map(|seed| Lane::new(task, seed)).collect();
    let most = ask.options.checks.unwrap_or(u64::MAX);
    let mut checks = 2000.min(most);
    loop {
        let rounds: Vec<Round> = lanes.par_iter_mut().map(|lane| lane.run(task, checks)).collect();
        // The lowest that found one, not the first: so the order in which threads finish does not matter.
        let found = rounds.into_iter().find_map(|round| match round {
            Round::Way(way) => Some(way),
            Round::Open => None,
        });
        if let Some(poses) = found {
            let effort = effort(&lanes);
            if ask.options.finish == Finish::AsFound {
                return Answer::Way(told(task, &poses, 0.0, effort));
            }
            let (mut dice, mut asked) = (Dice::new(ask.options.seed), task.bay.asked());
            let look_mm = task.gait.step_mm;
            let shorter = shortened(task.bay, &poses, look_mm, &mut dice, &mut asked, stop_shortening);
            return Answer::Way(told(task, &shorter, least_spare(task, &shorter), effort));
        }
        let ended = match ended.load(Ordering::Relaxed) {
            LATE => Ended::Time,
            CANCELLED => Ended::Cancelled,
            _ if checks >= most => Ended::Checks,
            _ if lanes.iter().all(|lane| lane.nodes() > task.most_nodes) => Ended::Memory,
            _ => {
                checks = (checks + (checks / 4).min(100_000)).min(most);
                continue;
            }
        };
        return Answer::NoneFound(none_found(task, &lanes, ended));
    }
}

fn effort(lanes: &[Lane]) -> Effort {
    Effort {
        checks: lanes.iter().map(|lane| lane.asked.checks).sum(),
        nodes: lanes.iter().map(|lane| lane.nodes() as u64).sum(),
    }
}

fn told(task: &Task<'_>, poses: &[Pose], spare_mm: f64, effort: Effort) -> Way {
    let mover = task.bay.mover;
    Way {
        poses: poses.iter().map(|pose| mover.world_from_body(pose)).collect(),
        middle: mover.middle(),
        spare: Length::from_mm(spare_mm),
        effort,
    }
}

/// Room to spare that is proved over all of a way, mm: the greatest of a few figures that can be.
fn least_spare(task: &Task<'_>, poses: &[Pose]) -> f64 {
    let holds = |margin_mm: f64| {
        let kept =
            |pair: &[Pose]| prove(task.bay, &Step::new(&pair[0], &pair[1]), margin_mm, 20_000) == Proof::Free;
        poses.windows(2).all(kept)
    };
    SPARES_MM.into_iter().find(|margin_mm| holds(*margin_mm)).unwrap_or(0.0)
}

/// Figures that are tried.
const SPARES_MM: [f64; 7] = [10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1];

fn none_found(task: &Task<'_>, lanes: &[Lane], ended: Ended) -> NoneFound {
    let mover = task.bay.mover;
    let mut closest = (f64::INFINITY, task.starts[0], task.goal);
    let mut stops = vec![0u64; task.bay.standing.len()];
    for lane in lanes {
        if lane.closest.0 < closest.0 {
            closest = lane.closest;
        }
        stops.iter_mut().zip(&lane.asked.stops).for_each(|(sum, stops)| *sum += stops);
    }
    let all = stops.iter().sum::<u64>().max(1) as f64;
    let mut stopped_by: Vec<(usize, f64)> = stops
        .iter()
        .enumerate()
        .filter(|(_, stops)| **stops > 0)
        .map(|(i, n)| (i, *n as f64 / all))
        .collect();
    stopped_by.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    NoneFound {
        closest: [mover.world_from_body(&closest.1), mover.world_from_body(&closest.2)],
        apart: Length::from_mm(closest.0),
        stopped_by,
        ended,
        effort: effort(lanes),
    }
}

/// The obstacle whose room a pose is in, and the gap to it.
fn not_free(ask: &WayAsk<'_>, pose: &Pose) -> Option<(usize, Length)> {
    ask.obstacles.iter().enumerate().find_map(|(number, obstacle)| {
        let relative = obstacle.world_from_obstacle.inverse() * pose;
        let found = gap(&obstacle.shape, ask.body, &relative).gap;
        (found.mm() <= obstacle.room.mm()).then_some((number, found))
    })
}

/// Where the middle may be: the frame's room, moved by as much as the middle may stand off the frame.
fn room_of_middle(ask: &WayAsk<'_>, mover: &Mover) -> Bounds {
    let off_mm = mover.middle().coords.norm();
    let mut room = ask.room.grown(off_mm);
    for pose in ask.starts.iter().chain([&ask.goal]) {
        room = room.with(&Point3::from(mover.world_from_middle(pose).translation.vector));
    }
    room
}
