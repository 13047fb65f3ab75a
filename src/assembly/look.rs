//! One body tried, as hard as asked.

use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use crate::scene::{Body, Scene};
use crate::space::{Length, Pose};
use crate::way_in::{Answer, Ended, NoneFound, Options, WayAsk, way_in};

use super::error::AssemblyError;
use super::heavy::{Heft, Lift, heft, no_hoist_words, straight_lift};
use super::seen::{Seen, Shapes, Side};

/// How to look for ways.
#[derive(Clone, Debug)]
pub struct Look<'a> {
    /// Least gap on the way.
    pub gap: Length,
    /// Sides to come from; any of them will do.
    pub sides: Vec<Side>,
    /// All chance comes from this.
    pub seed: u64,
    /// Parts that weigh more, kg, come in by a straight lift where the scene has a hoist point for them.
    pub mass_limit_kg: f64,
    /// When to end. Where it is not reached, answers do not depend on it.
    pub until: Instant,
    /// Set by someone else to end early.
    pub cancel: Option<&'a AtomicBool>,
}

/// One body tried.
#[derive(Clone, Debug)]
pub struct Looked {
    /// The question as it was put.
    pub seen: Seen,
    /// What came of it.
    pub answer: Answer,
    /// Proof that a part too heavy for hands is not lifted straight in, in words.
    pub lift_stopped: Option<String>,
}

/// Poses looked at by each of two searches in its longest round, level by level: straight ways, common ones, hard ones.
pub(super) const LEVELS: [u64; 3] = [2_000, 15_000, 100_000];

impl Look<'_> {
    /// Time left.
    pub fn left(&self) -> Duration {
        self.until.saturating_duration_since(Instant::now())
    }

    /// Whether it is over: the time is up, or somebody has had enough.
    pub fn over(&self) -> bool {
        self.left().is_zero() || self.cancelled()
    }

    /// Whether somebody has had enough.
    pub fn cancelled(&self) -> bool {
        self.cancel.is_some_and(|cancel| cancel.load(std::sync::atomic::Ordering::Relaxed))
    }

    /// Tries to bring a body in while those named in `without` are away; `checks` bounds the work, `None` leaves the time.
    ///
    /// # Errors
    /// As [`way_in`], and as [`straight_lift`].
    pub fn at(
        &self,
        scene: &Scene,
        shapes: &Shapes,
        body: &Body,
        without: &[String],
        checks: Option<u64>,
    ) -> Result<Looked, AssemblyError> {
        let mut seen = Seen::by(scene, shapes, body, without, self.gap);
        if let Some(answer) = seen.blocked() {
            return Ok(Looked { seen, answer, lift_stopped: None });
        }
        match heft(scene, body, self.mass_limit_kg) {
            Heft::Hoisted { kg, hoist } => {
                let lift = straight_lift(scene, shapes, body, without, self.gap, (kg, hoist))?;
                return Ok(self.lifted(seen, lift));
            }
            Heft::NoHoist { kg } => {
                seen.remarks.push(no_hoist_words(&body.name, kg, self.mass_limit_kg));
            }
            Heft::Light | Heft::Unknown => {}
        }
        let starts: Vec<Pose> = self.sides.iter().map(|side| seen.outside(*side)).collect();
        let answer = way_in(&WayAsk {
            body: &seen.body,
            obstacles: &seen.obstacles,
            starts: &starts,
            goal: seen.goal,
            room: seen.room(&starts),
            options: Options {
                seed: self.seed,
                time: self.left().max(Duration::from_millis(1)),
                checks,
                cancel: self.cancel,
                ..Options::default()
            },
        })?;
        Ok(Looked { seen, answer, lift_stopped: None })
    }

    /// A lift as an answer.
    fn lifted(&self, mut seen: Seen, lift: Lift) -> Looked {
        let lift_stopped = lift.stopped_words(self.mass_limit_kg);
        // The lift is proved from the mounted pose itself: nothing is left of the last move.
        seen.seat_mm = None;
        seen.remarks.retain(|remark| remark.starts_with("the hood stands open"));
        seen.remarks.extend(lift.remarks);
        if lift_stopped.is_none() {
            return Looked { seen, answer: Answer::Way(lift.way), lift_stopped };
        }
        let named = lift.met.iter().map(|(name, _)| name).chain(&lift.hook_met);
        let by: Vec<usize> =
            named.filter_map(|name| seen.names.iter().position(|known| known == name)).collect();
        let share = 1.0 / by.len().max(1) as f64;
        let answer = Answer::NoneFound(NoneFound {
            closest: [lift.way.poses[0], lift.way.poses[1]],
            apart: Length::from_mm(lift.travel_mm - lift.free_mm),
            stopped_by: by.into_iter().map(|by| (by, share)).collect(),
            ended: Ended::Checks,
            effort: lift.way.effort,
        });
        Looked { seen, answer, lift_stopped }
    }
}
