//! Bringing a survey into vehicle axes, with what that does to every mark's uncertainty.
//!
//! `three_two_one.rs` by a plane, a line and a mark; `best_fit.rs` by named points; `alignment.rs`
//! is what all give; `surface/` by the surfaces of two
//! scans; `field.rs` how the error is spread over the bay;
//! `stand.rs` a stand laid on a vehicle. Leaves to others: which marks make the datum.

mod alignment;
mod best_fit;
mod error;
mod field;
mod stand;
mod surface;
#[cfg(test)]
mod tests;
mod three_two_one;

pub use alignment::Alignment;
pub use best_fit::{BestFit, MarkPair, align_best_fit, expected_target_error_mm};
pub use error::AlignError;
pub use field::{TargetError, target_error_field};
pub use stand::{MarkOff, MarkSpread, StandAgainst, compare_stand, vehicle_spread};
pub use surface::{
    Direction6, ScanLevels, SurfaceFit, SurfaceOptions, TURNS, align_surfaces, align_surfaces_anywhere,
};
pub use three_two_one::{DatumLine, DatumOrigin, DatumPlane, DatumSide, align_three_two_one};
