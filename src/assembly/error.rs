//! What a question of assembly may lack.

use crate::access::AccessError;
use crate::tube::TubeError;
use crate::way_in::WayError;

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum AssemblyError {
    /// The body is no single tube.
    #[error("`{body}` is no tube, so it has no straights to break it on")]
    NoTube {
        /// The body.
        body: String,
    },
    /// A body that is not there.
    #[error("the scene has no body `{body}`")]
    NoBody {
        /// Its name.
        body: String,
    },
    /// A place that the tube does not have.
    #[error("`{body}` cannot be broken {along_mm:.1} mm along it, on straight {straight}")]
    NoPlace {
        /// The pipe.
        body: String,
        /// The straight, from 1.
        straight: usize,
        /// Along the pipe, mm.
        along_mm: f64,
    },
    /// The tube cannot be.
    #[error(transparent)]
    Tube(#[from] TubeError),
    /// The planner refused.
    #[error(transparent)]
    Way(#[from] WayError),
    /// The access room refused.
    #[error(transparent)]
    Access(#[from] AccessError),
}
