//! What is wrong with a survey file.
use std::fmt;
use thiserror::Error;

/// One fault of a survey file, with its place.
#[derive(Clone, Debug, PartialEq)]
pub struct SurveyError {
    /// The file as it was named.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The offending text as it stands in the file; may be empty.
    pub found: String,
    /// What is wrong.
    pub fault: SurveyFault,
}

/// What can be wrong with a survey file.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum SurveyFault {
    /// Nothing in it.
    #[error("the file holds no readings")]
    Empty,
}

/// All faults of a survey file, in order of their place; at least one.
#[derive(Clone, Debug, PartialEq)]
pub struct SurveyErrors {
    /// The faults.
    pub errors: Vec<SurveyError>,
}

impl fmt::Display for SurveyErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, error) in self.errors.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{error}")?;
        }
        Ok(())
    }
}

impl fmt::Display for SurveyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}: {}", self.file, self.line, self.column, self.fault)
    }
}

impl std::error::Error for SurveyErrors {}
impl std::error::Error for SurveyError {}
