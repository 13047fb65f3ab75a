//! Best fit on named points.
use nalgebra::Point3;
use serde::Serialize;

use super::{AlignError, Alignment};

/// A mark measured in the survey whose place in the vehicle is known.
#[derive(Clone, Debug, PartialEq)]
pub struct MarkPair {
    /// Name.
    pub name: String,
    /// Place in survey axes, mm.
    pub survey: Point3<f64>,
    /// Place in vehicle axes, mm.
    pub vehicle: Point3<f64>,
    /// Standard uncertainty of each coordinate of the difference, mm.
    pub sigma_mm: f64,
}

/// A best fit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BestFit {
    /// The pose.
    pub alignment: Alignment,
    /// Distance of each mark from where it should be, in order, mm.
    pub residuals_mm: Vec<(String, f64)>,
    /// Root mean square of these, mm.
    pub rms_mm: f64,
}

/// Aligns a survey by named points.
///
/// # Errors
/// [`AlignError`].
pub fn align_best_fit(_pairs: &[MarkPair]) -> Result<BestFit, AlignError> {
    unimplemented!()
}
