//! How well readings agree with the feature fitted to them.

use serde::Serialize;

/// Evidence for a fit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitQuality {
    /// One a reading, in the order given.
    pub residuals: Vec<ReadingResidual>,
    /// Root mean square of the residuals over all readings, mm; `None` when no reading was to
    /// spare, for then the residuals say nothing.
    pub rms_mm: Option<f64>,
    /// Readings beyond the least number that the feature needs.
    pub spare: usize,
    /// Residual components beyond the free parameters; two a reading for lines and circles.
    pub degrees_of_freedom: usize,
    /// Width of the zone that holds all readings: greatest less least signed residual; twice the
    /// greatest distance for a line. mm.
    pub form_mm: f64,
    /// Sum of squared residuals, each over its sigma.
    pub chi_square: f64,
    /// Whether the stated sigmas were found too small and the covariance scaled up.
    pub scaling: Scaling,
    /// Steps taken; 1 for a closed form.
    pub iterations: usize,
    /// Whether the last step was negligible.
    pub converged: bool,
    /// Indices into `residuals` of readings that stand out: standardised residual beyond 3.3.
    pub suspects: Vec<usize>,
}

/// How far one reading lies off the fitted feature.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReadingResidual {
    /// The reading.
    pub name: String,
    /// Signed distance to the surface, mm: positive on the normal's side of a plane and outside
    /// round things and boxes; always positive for a line.
    pub residual_mm: f64,
    /// Residual over its own standard deviation; `None` when nothing checks this reading.
    pub standardised: Option<f64>,
}

/// Whether the covariance was scaled up because the readings scatter more than stated.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub enum Scaling {
    /// The scatter agrees with the stated sigmas, or nothing was to spare to tell.
    AsStated,
    /// The scatter is this many times the stated sigma, by chi-square beyond chance (0.1 %); the
    /// covariance is scaled by the square.
    ScaledUp {
        /// Observed over stated standard deviation.
        factor: f64,
    },
}
