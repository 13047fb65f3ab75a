//! Why a tape network has no answer, and which reading would give it one.

use thiserror::Error;

/// Why a tape network has no answer. Each message names the cure.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum NetworkError {
    /// A mark with too few distances.
    #[error("mark `{mark}` {need}")]
    UnderDetermined {
        /// The mark.
        mark: String,
        /// What is there, what is missing and from where it is best taken.
        need: String,
    },
    /// Lengths that no place can have.
    #[error("no place fits the distances of mark `{mark}`: {why}; measure {again} again")]
    Impossible {
        /// The mark.
        mark: String,
        /// With the shortfall.
        why: String,
        /// The readings to repeat.
        again: String,
    },
    /// Two mirror places and nothing to choose by.
    #[error(
        "mark `{mark}` may lie on either side of {plane}, {apart_mm:.1} mm apart: write `{one}` or `{other}` under `side`, or take one more distance from a mark off that plane"
    )]
    Mirror {
        /// The mark.
        mark: String,
        /// The marks of the plane between both places.
        plane: String,
        /// Distance between the two places, mm.
        apart_mm: f64,
        /// Side of one.
        one: &'static str,
        /// Side of the other.
        other: &'static str,
    },
    /// A side along which both mirror places are alike.
    #[error(
        "side `{side}` does not tell the two places of mark `{mark}` apart, for they differ mostly `{one}` and `{other}`: write one of these"
    )]
    SideDoesNotTell {
        /// The mark.
        mark: String,
        /// As given.
        side: &'static str,
        /// Side of one place.
        one: &'static str,
        /// Side of the other.
        other: &'static str,
    },
    /// Two readings of one mark that name opposite sides, or a side that the distances rule out.
    #[error("mark `{mark}` is said to lie `{side}`, but {against}; correct the side or the distances")]
    SideContradicted {
        /// The mark.
        mark: String,
        /// As given.
        side: &'static str,
        /// What speaks against it.
        against: String,
    },
    /// A mark close to the plane of those it was measured from.
    #[error(
        "mark `{mark}` lies nearly in the plane of {plane}, which leaves its distance from that plane known to about {known_to_mm:.0} mm only; add a distance to it from a mark well off that plane"
    )]
    Flat {
        /// The mark.
        mark: String,
        /// Marks of the plane.
        plane: String,
        /// How well, mm.
        known_to_mm: f64,
    },
    /// Marks that hold each other, and more of them than are placed together.
    #[error(
        "marks {marks} hold each other, but none of them can be placed by marks that stand, and of such marks no more than {most} are placed at once, not {count}; take distances to `{mark}`, or another of them, from three marks that stand"
    )]
    TooManyTogether {
        /// The first of them.
        mark: String,
        /// All of them.
        marks: String,
        /// How many they are.
        count: usize,
        /// How many may be placed together.
        most: usize,
    },
    /// Distances that contradict each other beyond their sigma, with no telling which is wrong.
    #[error(
        "the distances around mark `{mark}` disagree by up to {off_mm:.0} mm, and nothing tells which of {readings} is wrong; measure these again, or add a distance from a further mark"
    )]
    Disagree {
        /// A mark at which they meet.
        mark: String,
        /// The readings, `A-P, B-P`.
        readings: String,
        /// Size of the likeliest error, mm.
        off_mm: f64,
    },
    /// No minimum was reached.
    #[error("the tape network does not settle; check the longest distances of mark `{mark}`")]
    NotConverged {
        /// The mark with the greatest residual.
        mark: String,
    },
    /// A name that is no mark, a value that is no reading.
    #[error("mark `{mark}`: {what}")]
    BadInput {
        /// The mark.
        mark: String,
        /// What is wrong and what to do.
        what: String,
    },
}

impl NetworkError {
    /// The mark that it is about.
    pub fn mark(&self) -> &str {
        match self {
            NetworkError::UnderDetermined { mark, .. }
            | NetworkError::Impossible { mark, .. }
            | NetworkError::Mirror { mark, .. }
            | NetworkError::SideDoesNotTell { mark, .. }
            | NetworkError::SideContradicted { mark, .. }
            | NetworkError::Flat { mark, .. }
            | NetworkError::TooManyTogether { mark, .. }
            | NetworkError::Disagree { mark, .. }
            | NetworkError::NotConverged { mark }
            | NetworkError::BadInput { mark, .. } => mark,
        }
    }
}
