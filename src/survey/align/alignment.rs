//! A pose of the survey with its uncertainty.
use nalgebra::{Matrix6, Matrix6x3, Point3};
use serde::Serialize;

use crate::space::Pose;
use crate::survey::{FitPlacement, SurveyTable};

/// Where the survey's axes stand in the vehicle's, and how well that is known.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Alignment {
    /// Maps survey places to vehicle places.
    pub vehicle_from_survey: Pose,
    /// Point, in vehicle axes, about which the small turn of `covariance` is taken.
    pub about: Point3<f64>,
    /// Covariance of (shift x, y, z, turn x, y, z) of the survey in vehicle axes: mm^2, mm rad, rad^2.
    pub covariance: Matrix6<f64>,
    /// How each datum mark moves the pose: (shift, turn) a millimetre of the mark along the survey's x, y, z.
    pub sensitivity: Vec<(String, Matrix6x3<f64>)>,
    /// What does not agree, in words a person can act on; empty when all is well.
    pub remarks: Vec<String>,
}

impl Alignment {
    /// The survey in vehicle axes: places, and covariance with the datum's share, marks of the datum included.
    pub fn carry(&self, _survey: &SurveyTable) -> SurveyTable {
        unimplemented!()
    }

    /// A fit made in vehicle axes with the readings' own sigma, widened by the alignment's share.
    pub fn widen(&self, _fit: &FitPlacement) -> FitPlacement {
        unimplemented!()
    }
}
