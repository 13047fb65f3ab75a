//! Where a hand comes from.

use nalgebra::Point3;

use crate::space::{Bounds, Direction};

use super::AccessError;

/// The bay and its open sides: the hand comes from beyond any of them.
///
/// The bay is a box of the world. The centre of the hand stays in it and enters it through an open
/// side; beyond an open side nothing is in the way. A side that is not open is not passed, but it
/// is no wall either: only bodies are.
#[derive(Clone, Debug, PartialEq)]
pub struct Outside {
    /// The bay, vehicle axes, mm.
    pub bay: Bounds,
    /// Its open sides: `Up` is the plane of the greatest z, `Left` that of the least y, and so on.
    pub open: Vec<Direction>,
}

impl Outside {
    /// A bay that is open above and toward front, left and right: hood up, undertray on.
    pub fn hood_open(bay: Bounds) -> Self {
        Outside { bay, open: vec![Direction::Up, Direction::Forward, Direction::Left, Direction::Right] }
    }

    /// The sides among the open ones that face a point: it stands beyond their plane.
    pub fn facing(&self, point: &Point3<f64>) -> Vec<Direction> {
        self.open
            .iter()
            .copied()
            .filter(|side| {
                let (axis, at_max) = axis_of(*side);
                if at_max { point[axis] >= self.bay.max[axis] } else { point[axis] <= self.bay.min[axis] }
            })
            .collect()
    }

    /// # Errors
    /// When the bay is empty or not finite, or nothing is open.
    pub(super) fn validate(&self) -> Result<(), AccessError> {
        AccessError::finite_point("a corner of the bay", &self.bay.min)?;
        AccessError::finite_point("a corner of the bay", &self.bay.max)?;
        for axis in 0..3 {
            let size = self.bay.max[axis] - self.bay.min[axis];
            AccessError::in_range("an edge of the bay, mm,", size, 1.0..=1.0e6, "at least 1 mm")?;
        }
        if self.open.is_empty() { Err(AccessError::NoOpenSide) } else { Ok(()) }
    }
}

/// The number of the axis that a direction lies along, and whether it heads to greater values.
pub(super) fn axis_of(side: Direction) -> (usize, bool) {
    match side {
        Direction::Forward => (0, false),
        Direction::Rearward => (0, true),
        Direction::Left => (1, false),
        Direction::Right => (1, true),
        Direction::Down => (2, false),
        Direction::Up => (2, true),
    }
}
