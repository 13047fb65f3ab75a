//! What moves, and how far.

use nalgebra::{Unit, Vector3};

use crate::space::{Angle, Axis, Pose, pose_of_turn};

/// One way in which a carrier may move, over a range that contains its rest (0).
#[derive(Clone, Debug, PartialEq)]
pub enum Freedom {
    /// A right-handed turn about a line of the world.
    Turn {
        /// The line, in the world's frame at rest.
        axis: Axis,
        /// Least angle, radians.
        from_rad: f64,
        /// Greatest angle, radians.
        to_rad: f64,
    },
    /// A slide along a direction of the world.
    Slide {
        /// Which way.
        along: Unit<Vector3<f64>>,
        /// Least travel, mm.
        from_mm: f64,
        /// Greatest travel, mm.
        to_mm: f64,
    },
}

/// A carrier's movement: its freedoms, all free at once and independent of each other.
///
/// `world_from_rest(values)` is the product of the freedoms' poses, the first listed leftmost
/// (applied last). No freedoms: it stands still.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Movement {
    /// At most three.
    pub freedoms: Vec<Freedom>,
}

impl Freedom {
    /// Least and greatest value: radians or millimetres.
    pub fn range(&self) -> (f64, f64) {
        match self {
            Freedom::Turn { from_rad, to_rad, .. } => (*from_rad, *to_rad),
            Freedom::Slide { from_mm, to_mm, .. } => (*from_mm, *to_mm),
        }
    }

    /// The pose at a value (radians or millimetres).
    pub fn pose(&self, value: f64) -> Pose {
        match self {
            Freedom::Turn { axis, .. } => pose_of_turn(axis, Angle::from_rad(value)),
            Freedom::Slide { along, .. } => {
                Pose::translation(along.x * value, along.y * value, along.z * value)
            }
        }
    }
}

impl Movement {
    /// Stands still.
    pub fn still() -> Self {
        Movement::default()
    }

    /// The pose at given values, one a freedom, that takes the carrier from rest.
    pub fn world_from_rest(&self, values: &[f64]) -> Pose {
        self.freedoms
            .iter()
            .zip(values)
            .fold(Pose::identity(), |pose, (freedom, value)| pose * freedom.pose(*value))
    }
}
