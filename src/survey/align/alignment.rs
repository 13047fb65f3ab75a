//! Where the survey's axes stand in the vehicle's, and how well that is known.

use nalgebra::{DMatrix, Matrix3, Matrix6, Matrix6x3, Point3};
use serde::Serialize;

use crate::space::Pose;
use crate::survey::fit::lever_to;
use crate::survey::{FitPlacement, Mark, SurveyTable};

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
    /// Factor on what `sensitivity` hands on, because the datum's spare readings scatter more than stated; 1 when they do not.
    pub scale: f64,
    /// What does not agree, in words a person can act on; empty when all is well.
    pub remarks: Vec<String>,
}

impl Alignment {
    /// The survey in vehicle axes: every place, and the joint covariance with the datum's share.
    ///
    /// A datum mark's own error moves the whole survey, so that marks near the datum come out
    /// better than far ones, and what the datum defines comes out without error. A mark's
    /// `sigma_mm` stays that of its reading: fits weigh by it and take the datum's share once, by [`Self::widen`].
    pub fn carry(&self, survey: &SurveyTable) -> SurveyTable {
        let turn = self.vehicle_from_survey.rotation.to_rotation_matrix().into_inner();
        let places: Vec<Point3<f64>> =
            survey.marks.iter().map(|mark| self.vehicle_from_survey * mark.position).collect();
        let n = 3 * places.len();
        // How every coordinate answers to every coordinate read: its own, and through the datum.
        let mut response = DMatrix::zeros(n, n);
        let mut apart = Matrix6::zeros();
        let datum: Vec<Option<usize>> = self
            .sensitivity
            .iter()
            .map(|(name, _)| survey.marks.iter().position(|mark| mark.name == *name))
            .collect();
        // Surfaces name no marks: their share is apart as well.
        let joint = !datum.is_empty() && datum.iter().all(Option::is_some);
        if !joint {
            apart = self.covariance;
        }
        for (i, place) in places.iter().enumerate() {
            response.fixed_view_mut::<3, 3>(3 * i, 3 * i).copy_from(&turn);
            if joint {
                let lever = lever_to(&(place - self.about));
                for ((_, sensitivity), at) in self.sensitivity.iter().zip(&datum) {
                    if let Some(k) = at {
                        let mut block = response.fixed_view_mut::<3, 3>(3 * i, 3 * k);
                        block += lever * sensitivity * self.scale;
                    }
                }
            }
        }
        let mut covariance = &response * &survey.covariance * response.transpose();
        if !joint {
            // The datum was read elsewhere: its share is independent of these readings.
            for (i, a) in places.iter().enumerate() {
                for (j, b) in places.iter().enumerate() {
                    let shared =
                        lever_to(&(a - self.about)) * apart * lever_to(&(b - self.about)).transpose();
                    let mut block = covariance.fixed_view_mut::<3, 3>(3 * i, 3 * j);
                    block += shared;
                }
            }
        }
        let marks = survey
            .marks
            .iter()
            .zip(&places)
            .enumerate()
            .map(|(i, (mark, place))| Mark {
                position: *place,
                covariance: covariance.fixed_view::<3, 3>(3 * i, 3 * i).into_owned(),
                ..mark.clone()
            })
            .collect();
        SurveyTable { marks, covariance, ..survey.clone() }
    }

    /// A fit made in vehicle axes with the readings' own sigma, widened by the alignment's share.
    ///
    /// Every body of one survey gets the same share, so between two of them it cancels: what
    /// remains there is their readings' own part. Whoever takes the difference must know that both come from this survey.
    pub fn widen(&self, fit: &FitPlacement) -> FitPlacement {
        let mut to_fit = Matrix6::identity();
        to_fit.fixed_view_mut::<3, 6>(0, 0).copy_from(&lever_to(&(fit.about - self.about)));
        let shared = to_fit * self.covariance * to_fit.transpose();
        FitPlacement { covariance: fit.covariance + shared, ..fit.clone() }
    }

    /// Covariance of where a place fixed in the survey comes to stand in the vehicle, mm^2: the alignment's share alone,
    /// L C L^T with L = (1, -[d]x) for a lever d from `about` (JCGM 102:2011, 6.2.1.3). The root of its trace is the
    /// target registration error that the datum predicts there; [`super::target_error_field`] gives it over a box.
    pub fn point_covariance(&self, vehicle: &Point3<f64>) -> Matrix3<f64> {
        let lever = lever_to(&(vehicle - self.about));
        lever * self.covariance * lever.transpose()
    }
}
