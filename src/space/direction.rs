//! Directions of the vehicle by name.

use nalgebra::{Unit, Vector3};

/// A direction as a person at the vehicle says it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// Toward the front bumper: -x.
    Forward,
    /// Toward the rear bumper: +x.
    Rearward,
    /// To the vehicle's own left: -y.
    Left,
    /// To the vehicle's own right: +y.
    Right,
    /// Away from the ground: +z.
    Up,
    /// Toward the ground: -z.
    Down,
}

impl Direction {
    /// All six, in the order x, y, z, negative first.
    pub const ALL: [Direction; 6] = [
        Direction::Forward,
        Direction::Rearward,
        Direction::Left,
        Direction::Right,
        Direction::Down,
        Direction::Up,
    ];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Direction::Forward => "forward",
            Direction::Rearward => "rearward",
            Direction::Left => "left",
            Direction::Right => "right",
            Direction::Up => "up",
            Direction::Down => "down",
        }
    }

    /// The direction that a word names.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|direction| direction.word() == word)
    }

    /// The direction as a unit vector in vehicle axes (x rearward, y right, z up).
    pub fn unit(self) -> Unit<Vector3<f64>> {
        match self {
            Direction::Forward => -Vector3::x_axis(),
            Direction::Rearward => Vector3::x_axis(),
            Direction::Left => -Vector3::y_axis(),
            Direction::Right => Vector3::y_axis(),
            Direction::Up => Vector3::z_axis(),
            Direction::Down => -Vector3::z_axis(),
        }
    }

    /// The named direction nearest to `vector` (any length but zero; ties go to the earlier of [`Self::ALL`]).
    pub fn nearest(vector: &Vector3<f64>) -> Self {
        let mut best = Direction::Forward;
        for direction in Self::ALL {
            if direction.unit().dot(vector) > best.unit().dot(vector) {
                best = direction;
            }
        }
        best
    }
}
