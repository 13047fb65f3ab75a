//! Reading.
use super::SurveyErrors;
use crate::space::LengthUnit;
use crate::survey::SurveyTable;

/// Reads a survey file from its bytes.
///
/// # Errors
/// [`SurveyErrors`].
pub fn read_survey_bytes(
    _bytes: &[u8],
    _file_name: &str,
    _default_unit: LengthUnit,
    _default_sigma_mm: f64,
) -> Result<SurveyTable, SurveyErrors> {
    unimplemented!()
}

/// Reads a survey file from its text.
///
/// # Errors
/// [`SurveyErrors`].
pub fn read_survey_csv(
    _text: &str,
    _file_name: &str,
    _default_unit: LengthUnit,
    _default_sigma_mm: f64,
) -> Result<SurveyTable, SurveyErrors> {
    unimplemented!()
}
