//! Survey files: rows of points and of tape distances.
//!
//! `split.rs` cuts a line into cells and knows where each stands, `header.rs` reads the columns,
//! `rows.rs` the readings, `reader.rs` puts them together and solves the tape network. All faults
//! of a file are reported at once, each with its place. The forms are in `docs/surveys.md`.

mod blank;
mod error;
mod header;
mod reader;
mod rows;
mod split;
#[cfg(test)]
mod tests;

pub use blank::{BlankReading, blank_sheet};
pub use error::{SurveyError, SurveyErrors, SurveyFault};
pub use reader::{ReadingDefaults, read_survey_bytes, read_survey_csv, read_survey_with};
