//! Why a tape network has no answer.
use thiserror::Error;

/// Why a tape network has no answer.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum NetworkError {
    /// A mark has too few distances.
    #[error("mark `{mark}` {need}")]
    UnderDetermined {
        /// The mark.
        mark: String,
        /// What is missing.
        need: String,
    },
}
