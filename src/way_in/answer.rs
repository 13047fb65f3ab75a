//! The answer.

use crate::space::{Length, Pose};

/// What is known of a way in.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// There is one, and here it is.
    Way(Way),
    /// None was found within the budget. That proves nothing.
    NoneFound(NoneFound),
    /// There is none, and this is why.
    Impossible(Impossible),
}

/// A way from outside to the mounted pose, every instant of it proved free.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// world_from_body, from the start to the goal. From one to the next the body's middle (of its bounding box, in its
    /// own frame, [`Way::middle`]) goes straight while the body turns evenly about it by the short way round.
    pub poses: Vec<Pose>,
    /// The point of the body that goes straight, in its frame.
    pub middle: nalgebra::Point3<f64>,
    /// At least this much room is left beyond what was required, everywhere on the way: proved; one of 10, 5, 2, 1,
    /// 0.5, 0.2, 0.1 and 0 mm. Not looked for, and 0, for a way that was left as found.
    pub spare: Length,
    /// What was done to find it.
    pub effort: Effort,
}

/// What a search did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Effort {
    /// Poses looked at by all searches.
    pub checks: u64,
    /// Poses kept.
    pub nodes: u64,
}

/// How far a search came.
#[derive(Clone, Debug, PartialEq)]
pub struct NoneFound {
    /// The nearest to each other that was reached from the start and from the goal: world_from_body.
    pub closest: [Pose; 2],
    /// How far apart these two are: shift, and turn weighed by the body's size.
    pub apart: Length,
    /// Obstacles by number that stopped the body, the one that did most often first, with its share of all stops.
    pub stopped_by: Vec<(usize, f64)>,
    /// Why the search ended.
    pub ended: Ended,
    /// What was done.
    pub effort: Effort,
}

/// Why a search ended without an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// The time was up.
    Time,
    /// As many poses as were asked for were looked at.
    Checks,
    /// Somebody cancelled it.
    Cancelled,
    /// It held as many poses as it may.
    Memory,
}

/// Proof that there is no way.
#[derive(Clone, Debug, PartialEq)]
pub enum Impossible {
    /// The mounted pose itself is not free.
    GoalNotFree {
        /// Obstacle.
        by: usize,
        /// Gap there; negative is overlap.
        gap: Length,
    },
    /// No start pose is free.
    StartNotFree {
        /// Obstacle at the first start.
        by: usize,
        /// Gap there.
        gap: Length,
    },
}
