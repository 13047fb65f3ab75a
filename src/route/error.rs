//! Why no route can be sought.

use crate::tube::TubeError;

/// Why a question for a route has no answer, not even "none found".
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RouteError {
    /// A figure is not finite or out of range.
    #[error("{what} is {value}; it must be {wanted}")]
    Figure {
        /// Which.
        what: &'static str,
        /// What it was.
        value: f64,
        /// What would do.
        wanted: &'static str,
    },
    /// Nothing bends this tube to any radius.
    #[error("nothing here bends a tube of {outside_mm:.2} mm: {why}")]
    NoRadius {
        /// The tube's outside diameter.
        outside_mm: f64,
        /// Each radius tried and what stands in its way, with what could be made.
        why: String,
    },
    /// Both ports are at one place.
    #[error(
        "the two ports lie {apart_mm:.3} mm apart: there is no tube between them; set them further apart"
    )]
    PortsMeet {
        /// Between the two, mm.
        apart_mm: f64,
    },
    /// A tube that cannot be.
    #[error(transparent)]
    Tube(#[from] TubeError),
}
