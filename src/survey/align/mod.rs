//! Bringing a survey into vehicle axes.

mod alignment;
mod best_fit;
mod error;
mod three_two_one;

pub use alignment::Alignment;
pub use best_fit::{BestFit, MarkPair, align_best_fit};
pub use error::AlignError;
pub use three_two_one::{DatumLine, DatumOrigin, DatumPlane, DatumSide, align_three_two_one};
