//! The question.

use std::sync::atomic::AtomicBool;
use std::time::Duration;

use super::bay::Obstacle;
use super::error::WayError;
use crate::clearance::IndexedShape;
use crate::space::{Bounds, Pose};

/// Whether a body can be worked from outside to its mounted pose.
#[derive(Clone, Copy, Debug)]
pub struct WayAsk<'a> {
    /// The body that moves.
    pub body: &'a IndexedShape,
    /// What stands in its way.
    pub obstacles: &'a [Obstacle],
    /// Poses outside, world_from_body; reaching any of them is enough. At least one.
    pub starts: &'a [Pose],
    /// The mounted pose, world_from_body.
    pub goal: Pose,
    /// Where the body's frame may be. Start and goal may lie outside; all between is looked for inside.
    pub room: Bounds,
    /// How to look.
    pub options: Options<'a>,
}

/// How to look for a way.
#[derive(Clone, Copy, Debug)]
pub struct Options<'a> {
    /// All chance comes from this.
    pub seed: u64,
    /// Time at most, 15 % of it kept for making what was found shorter. Where it does not run out, the answer does not depend on it.
    pub time: Duration,
    /// Poses looked at by each search at most; `None` for no limit. An answer that this ended depends on the seed alone.
    pub checks: Option<u64>,
    /// Travel of the farthest point between two looks of a growing search, mm; `None`: a hundredth of the body's reach.
    /// What is found is proved afterwards whatever the step.
    pub step_mm: Option<f64>,
    /// Searches side by side; the answer depends on it, but not on the number of threads that do the work.
    pub lanes: usize,
    /// Whether what was found is made shorter.
    pub finish: Finish,
    /// Set by someone else to end the search early.
    pub cancel: Option<&'a AtomicBool>,
}

/// What is done with a way that was found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Finish {
    /// Few moves, each proved.
    #[default]
    Shortened,
    /// As it was found, proved, with all its detours: at once.
    AsFound,
}

impl Default for Options<'_> {
    fn default() -> Self {
        Options {
            seed: 1,
            time: Duration::from_secs(60),
            checks: None,
            step_mm: None,
            lanes: 2,
            finish: Finish::Shortened,
            cancel: None,
        }
    }
}

impl WayAsk<'_> {
    /// # Errors
    /// No start; a figure that is not finite; an empty room.
    pub(super) fn validate(&self) -> Result<(), WayError> {
        if self.starts.is_empty() {
            return Err(WayError::NoStart);
        }
        let finite = |pose: &Pose| {
            pose.translation.vector.iter().chain(pose.rotation.coords.iter()).all(|value| value.is_finite())
        };
        for (what, pose) in
            self.starts.iter().map(|pose| ("a start pose", pose)).chain([("the goal", &self.goal)])
        {
            if !finite(pose) {
                return Err(WayError::NotFinite { what });
            }
        }
        let corners = [self.room.min, self.room.max];
        if corners.iter().any(|corner| corner.iter().any(|value| !value.is_finite())) {
            return Err(WayError::NotFinite { what: "the room" });
        }
        if self.room.is_empty() {
            return Err(WayError::NoRoom);
        }
        for obstacle in self.obstacles {
            let room_mm = obstacle.room.mm();
            if !(room_mm.is_finite() && room_mm >= 0.0 && finite(&obstacle.world_from_obstacle)) {
                return Err(WayError::NotFinite { what: "an obstacle's pose or room" });
            }
        }
        match self.options.step_mm {
            Some(step_mm) if !(step_mm.is_finite() && step_mm > 0.0) => Err(WayError::Step { step_mm }),
            _ => Ok(()),
        }
    }
}
