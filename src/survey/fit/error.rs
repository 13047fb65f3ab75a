//! Why readings do not make a feature.

use thiserror::Error;

/// Why a fit was refused. Each message names the cure.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum FitError {
    /// Fewer readings than the feature needs.
    #[error("a {feature} needs at least {least} readings at different places, {given} given; take {} more", least - given)]
    TooFew {
        /// `plane`, `cylinder`, ...
        feature: &'static str,
        /// Least number.
        least: usize,
        /// Number of different places given.
        given: usize,
    },
    /// The readings leave the feature free to move.
    #[error("the readings leave the {feature} undecided: {why}; {cure}")]
    Degenerate {
        /// `plane`, `cylinder`, ...
        feature: &'static str,
        /// What about the readings leaves it so.
        why: String,
        /// What to take.
        cure: String,
    },
    /// A coordinate or sigma is not finite, or a sigma is not above zero.
    #[error("reading `{reading}` has {what}; {cure}")]
    BadReading {
        /// The reading.
        reading: String,
        /// What is wrong with it.
        what: String,
        /// What to write.
        cure: &'static str,
    },
    /// An option that contradicts the feature or itself.
    #[error("{what}; {cure}")]
    BadOption {
        /// What is wrong.
        what: String,
        /// What to give.
        cure: String,
    },
    /// No minimum was reached.
    #[error(
        "no {feature} settles on these readings after {iterations} steps; check that they lie on one {feature} and spread them over more of it"
    )]
    NotConverged {
        /// `cylinder`, ...
        feature: &'static str,
        /// Steps taken.
        iterations: usize,
    },
}
