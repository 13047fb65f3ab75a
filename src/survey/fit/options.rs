//! What a fit may be told besides the readings.

use nalgebra::{DMatrix, Unit, Vector3};

use super::FitError;

/// Choices of a fit; the default is readings on the surface itself and every parameter free.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FitOptions {
    /// What touched the surface.
    pub tip: Tip,
    /// A radius known from elsewhere (a pipe's nominal size, say): mm, and its standard uncertainty,
    /// mm. Circle, sphere and cylinder then fit their place only.
    pub known_radius_mm: Option<(f64, f64)>,
    /// Joint covariance of the readings' coordinates, three rows a reading, mm^2. Left out, readings
    /// are independent with their own sigma. Weights stay those of the sigmas either way: this changes
    /// only the stated covariance (see [`crate::survey::SurveyTable::covariance_of`]).
    pub reading_covariance: Option<DMatrix<f64>>,
    /// Rough direction of the feature where readings alone leave a sign or a choice: out of the
    /// material for a plane, along the axis for a line, circle, cylinder or cone.
    pub toward: Option<Unit<Vector3<f64>>>,
}

/// What touched the surface.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Tip {
    /// A point, or readings already brought to the surface.
    #[default]
    Point,
    /// The centre of a ball was read; the surface lies one radius nearer to the material.
    Ball {
        /// Radius of the tip, mm.
        radius_mm: f64,
        /// On which side of the surface the ball stood.
        side: ProbeSide,
    },
}

/// Side of the surface on which the probe's ball stood.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProbeSide {
    /// Outside a boss, tube, ball or box; for a plane, on the side to which
    /// [`FitOptions::toward`] points.
    Outside,
    /// Inside a bore or a socket; for a plane, on the side away from [`FitOptions::toward`].
    Inside,
}

impl Tip {
    /// How far the surface lies from the ball's centre, away from the probe's side: positive when
    /// the ball stood outside, negative inside, 0 for a point.
    pub(super) fn offset_mm(self) -> f64 {
        match self {
            Tip::Point => 0.0,
            Tip::Ball { radius_mm, side: ProbeSide::Outside } => radius_mm,
            Tip::Ball { radius_mm, side: ProbeSide::Inside } => -radius_mm,
        }
    }

    pub(super) fn check(self) -> Result<(), FitError> {
        match self {
            Tip::Ball { radius_mm, .. } if !radius_mm.is_finite() || radius_mm < 0.0 => {
                Err(FitError::BadOption {
                    what: format!("the probe tip has a radius of {radius_mm} mm"),
                    cure: "give half of the ball's diameter, or leave the tip out".to_owned(),
                })
            }
            _ => Ok(()),
        }
    }
}

impl FitOptions {
    pub(super) fn check(&self) -> Result<(), FitError> {
        self.tip.check()?;
        if let Some((radius, sigma)) = self.known_radius_mm
            && !(radius.is_finite() && radius > 0.0 && sigma.is_finite() && sigma >= 0.0)
        {
            return Err(FitError::BadOption {
                what: format!("the known radius is {radius} mm with standard uncertainty {sigma} mm"),
                cure: "give a radius above zero and an uncertainty of zero or more".to_owned(),
            });
        }
        Ok(())
    }

    /// The known radius as the ball's centre sees it, with a sigma that least squares can weigh.
    pub(super) fn known_radius_at_tip(&self) -> Option<(f64, f64)> {
        // A value known exactly weighs as one known to a nanometre.
        self.known_radius_mm.map(|(radius, sigma)| (radius + self.tip.offset_mm(), sigma.max(1e-6)))
    }
}
