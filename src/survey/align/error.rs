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
    /// Two scans that hardly lie on each other.
    #[error(
        "only {:.0} % of the moving scan lies on the fixed one, {:.0} % are asked for; start nearer to where it belongs, or \
         scan more of the same surfaces", 100.0 * share, 100.0 * least
    )]
    Apart {
        /// Share that overlaps, 0 to 1.
        share: f64,
        /// Share asked for, 0 to 1.
        least: f64,
    },
    /// Surfaces that slide along each other.
    #[error(
        "the surfaces that both scans share leave open {} (held to {share:.5}, {least:.5} is asked for); scan something that \
         stands across it", directions.join(" and ")
    )]
    Open {
        /// The movements that are open, in words.
        directions: Vec<String>,
        /// Share of the worst direction, 0 to 1.
        share: f64,
        /// Share asked for, 0 to 1.
        least: f64,
    },
}
