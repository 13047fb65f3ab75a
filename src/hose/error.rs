//! Why a hose has no shape.

use crate::space::Length;

/// Why a hose has no shape. `span` counts from 1: from the first port to the first clip is 1.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum HoseError {
    /// Not as long as the way between its holds.
    #[error(
        "span {span} of the hose is {length} long, but its holds are {chord} apart: it is at least {} short",
        *chord - *length
    )]
    TooShort {
        /// Which span.
        span: usize,
        /// Length of hose in it.
        length: Length,
        /// Straight line between its holds.
        chord: Length,
    },
    /// A figure that is not above zero, or not finite.
    #[error("{what} of the hose must be above zero and finite")]
    Figure {
        /// Which.
        what: &'static str,
    },
    /// Clips that do not follow each other along the hose.
    #[error("clip {clip} lies {at} from the start of the hose, which is not between the holds beside it")]
    ClipOrder {
        /// Which clip, from 1.
        clip: usize,
        /// Where it was put.
        at: Length,
    },
    /// The search for the least energy did not end.
    #[error("no shape at rest was found for span {span} of the hose; check the directions of its ports")]
    NotFound {
        /// Which span.
        span: usize,
    },
}
