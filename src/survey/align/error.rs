//! Why a survey cannot be brought into vehicle axes.

use thiserror::Error;

/// Why a survey cannot be aligned. Each message names the cure.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum AlignError {
    /// Too few marks.
    #[error("the datum {part} needs at least {least} different marks, {given} given; name {} more", least - given)]
    TooFew {
        /// `plane`, `line`, ...
        part: &'static str,
        /// Least number.
        least: usize,
        /// Given.
        given: usize,
    },
    /// A mark named twice in one part, or two names for one place.
    #[error("the datum {part} names `{one}` and `{other}`, which {what}; name different marks, well apart")]
    Repeated {
        /// `plane`, `line`, ...
        part: &'static str,
        /// One mark.
        one: String,
        /// The other.
        other: String,
        /// `are the same mark`, `stand at the same place`.
        what: &'static str,
    },
    /// Marks that fix nothing, or directions that contradict each other.
    #[error("{what}; {cure}")]
    Degenerate {
        /// What is wrong.
        what: String,
        /// What to do.
        cure: String,
    },
    /// The survey is a mirror image.
    #[error(
        "the marks fit far better as a mirror image ({mirrored_mm:.1} mm) than turned ({turned_mm:.1} mm): left and right are swapped, or an axis has the wrong sign; put that right in the survey"
    )]
    Mirrored {
        /// Root mean square when mirrored, mm.
        mirrored_mm: f64,
        /// Root mean square when only turned, mm.
        turned_mm: f64,
    },
}
