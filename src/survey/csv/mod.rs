//! Survey files: rows of points and tape distances.

mod error;
mod reader;

pub use error::{SurveyError, SurveyErrors, SurveyFault};
pub use reader::{read_survey_bytes, read_survey_csv};
