//! One body tried, as hard as asked.

use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use crate::scene::{Body, Scene};
use crate::space::{Length, Pose};
use crate::way_in::{Answer, Options, WayAsk, WayError, way_in};

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
    /// As [`way_in`].
    pub fn at(
        &self,
        scene: &Scene,
        shapes: &Shapes,
        body: &Body,
        without: &[String],
        checks: Option<u64>,
    ) -> Result<Looked, WayError> {
        let seen = Seen::by(scene, shapes, body, without, self.gap);
        if let Some(answer) = seen.blocked() {
            return Ok(Looked { seen, answer });
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
        Ok(Looked { seen, answer })
    }
}
