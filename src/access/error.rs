//! What can be wrong with a question about access, and the cure.

use crate::space::Length;

/// Why a question about access has no answer.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum AccessError {
    /// A number is not finite or not in its range.
    #[error("{what} is {value}; it must be {expected}")]
    Number {
        /// Which number.
        what: &'static str,
        /// What it was.
        value: f64,
        /// What it may be.
        expected: &'static str,
    },
    /// The point lies outside the bay, so that there is no way into it to look for.
    #[error(
        "the point ({x:.1}, {y:.1}, {z:.1}) lies {beyond} outside the bay; move the point or enlarge the bay's bounds"
    )]
    PointOutsideBay {
        /// x, mm.
        x: f64,
        /// y, mm.
        y: f64,
        /// z, mm.
        z: f64,
        /// How far.
        beyond: Length,
    },
    /// The point lies inside a body other than the one served.
    #[error(
        "the point lies {depth} inside `{body}`; move it to the surface, or list `{body}` among the bodies taken off first"
    )]
    PointInside {
        /// Which body.
        body: String,
        /// How deep, cover included.
        depth: Length,
    },
    /// No side of the bay is open.
    #[error("no side of the bay is open; name at least one, such as `up`")]
    NoOpenSide,
    /// No open side of the bay faces the shoulder.
    #[error(
        "no open side of the bay faces the shoulder at ({x:.1}, {y:.1}, {z:.1}); stand elsewhere, or open the side"
    )]
    ShoulderBehind {
        /// x, mm.
        x: f64,
        /// y, mm.
        y: f64,
        /// z, mm.
        z: f64,
    },
    /// A body's number is not in the list.
    #[error("body number {index} does not exist; there are {count}")]
    NoSuchBody {
        /// The number.
        index: usize,
        /// How many there are.
        count: usize,
    },
}

impl AccessError {
    /// `value` when it is finite and in `from..=to`, else the error that says so.
    pub(super) fn in_range(
        what: &'static str,
        value: f64,
        range: std::ops::RangeInclusive<f64>,
        expected: &'static str,
    ) -> Result<f64, AccessError> {
        if value.is_finite() && range.contains(&value) {
            Ok(value)
        } else {
            Err(AccessError::Number { what, value, expected })
        }
    }

    /// The point when all its coordinates are finite.
    pub(super) fn finite_point(what: &'static str, point: &nalgebra::Point3<f64>) -> Result<(), AccessError> {
        for value in point.iter() {
            AccessError::in_range(what, *value, -1.0e6..=1.0e6, "finite and within 1 km of the datum")?;
        }
        Ok(())
    }
}
