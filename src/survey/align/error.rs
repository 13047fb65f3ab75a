//! Why a survey cannot be aligned.
use thiserror::Error;

/// Why a survey cannot be aligned.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum AlignError {
    /// Too few marks.
    #[error("the datum {part} needs at least {least} different marks, {given} given")]
    TooFew {
        /// `plane`, `line`, ...
        part: &'static str,
        /// Least number.
        least: usize,
        /// Given.
        given: usize,
    },
    /// Marks that fix nothing, with the cure.
    #[error("{what}; {cure}")]
    Degenerate {
        /// What is wrong.
        what: String,
        /// What to do.
        cure: String,
    },
}
