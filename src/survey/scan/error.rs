//! Why a scan cannot be used.

use thiserror::Error;

use crate::solid::MeshFileError;

/// Why a scan cannot be used. Each message names the cure.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ScanError {
    /// The file.
    #[error(transparent)]
    File(#[from] MeshFileError),
    /// A point so far off that its cell has no number.
    #[error(
        "point [{:.3}, {:.3}, {:.3}] mm lies more than {:.0} mm from the first point, too far for cells of {voxel_mm} mm; \
         remove stray points, check the unit, or take larger cells", at[0], at[1], at[2], reach_mm
    )]
    TooFar {
        /// The point, mm.
        at: [f64; 3],
        /// How far from the first point the numbers reach, mm.
        reach_mm: f64,
        /// Edge of a cell, mm.
        voxel_mm: f64,
    },
    /// Fewer points than the question needs.
    #[error("{what} needs at least {least} points, there are {given}; {cure}")]
    TooFew {
        /// What was asked.
        what: &'static str,
        /// Least number.
        least: usize,
        /// Number there is.
        given: usize,
        /// What to do.
        cure: &'static str,
    },
    /// More points than numbers of 32 bits can name.
    #[error("{given} points are more than can be kept; thin them out while they are read")]
    TooMany {
        /// Number there is.
        given: usize,
    },
    /// An option that contradicts itself.
    #[error("{what}; {cure}")]
    BadOption {
        /// What is wrong.
        what: String,
        /// What to give.
        cure: &'static str,
    },
}

impl ScanError {
    /// A size that must be above zero, mm.
    pub(super) fn positive(what: &str, value: f64) -> Result<(), Self> {
        if value.is_finite() && value > 0.0 {
            return Ok(());
        }
        Err(ScanError::BadOption {
            what: format!("{what} is {value}"),
            cure: "give a number above zero, in mm",
        })
    }
}
