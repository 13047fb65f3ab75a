//! What a fit may be told besides the readings.

use nalgebra::{DMatrix, Unit, Vector3};

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
