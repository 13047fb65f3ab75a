//! How well readings agree with the feature fitted to them.

use nalgebra::DMatrix;
use serde::Serialize;

use super::{FitError, Reading};
use crate::survey::levenberg::{Evaluation, Minimum};
use crate::survey::uncertainty::{chi_square_tail, f_tail};

/// Chance below which a scatter or a reading counts as beyond chance.
const BEYOND_CHANCE: f64 = 0.001;

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
    /// How each local parameter answers to each reading's place: a row a parameter, in the order of the fit's covariance,
    /// three columns a reading, times the factor of `scaling`.
    #[serde(skip)]
    pub response: DMatrix<f64>,
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

impl Scaling {
    /// Factor on every standard uncertainty, at least 1.
    pub fn factor(self) -> f64 {
        match self {
            Scaling::AsStated => 1.0,
            Scaling::ScaledUp { factor } => factor,
        }
    }
}

impl FitQuality {
    /// The readings that stand out, each with its size: `P7 lies 3.20 mm off, 5.1 times its standard deviation`.
    pub fn suspect_words(&self) -> Vec<String> {
        self.suspects
            .iter()
            .map(|&i| {
                let ReadingResidual { name, residual_mm, standardised } = &self.residuals[i];
                format!(
                    "{name} lies {residual_mm:.2} mm off, {:.1} times its standard deviation",
                    standardised.unwrap_or(0.0).abs()
                )
            })
            .collect()
    }

    /// Standard deviation of form beyond what the readings' own scatter explains, mm; 0 unless scaled up.
    pub(super) fn form_sigma_mm(&self, sigma_mm: f64) -> f64 {
        sigma_mm * (self.scaling.factor().powi(2) - 1.0).max(0.0).sqrt()
    }
}

/// What a fit hands over to be judged.
pub(super) struct Judged<'a, S> {
    /// `plane`, `cylinder`, ...
    pub feature: &'static str,
    /// The readings.
    pub readings: &'a [Reading],
    /// Least number of readings.
    pub least: usize,
    /// Signed distances to report, mm, one a reading.
    pub residuals_mm: Vec<f64>,
    /// Width of the zone, mm.
    pub form_mm: f64,
    /// The minimum.
    pub minimum: &'a Minimum<S>,
    /// Joint covariance of the readings, when they are not independent.
    pub reading_covariance: Option<&'a DMatrix<f64>>,
    /// What to do when the readings leave a parameter free.
    pub cure: &'a str,
}

impl<S> Judged<'_, S> {
    /// Covariance of the local parameters, and the evidence.
    pub fn judge(self) -> Result<(DMatrix<f64>, FitQuality), FitError> {
        let Evaluation { residuals, jacobian, origins } = &self.minimum.evaluation;
        let cofactor = inverse_normal(jacobian).ok_or_else(|| FitError::Degenerate {
            feature: self.feature,
            why: "it could still move without any reading noticing".to_owned(),
            cure: self.cure.to_owned(),
        })?;
        if !self.minimum.converged {
            return Err(FitError::NotConverged {
                feature: self.feature,
                iterations: self.minimum.iterations,
            });
        }
        let degrees_of_freedom = residuals.len().saturating_sub(jacobian.ncols());
        let chi_square = residuals.norm_squared();
        let free = degrees_of_freedom as f64;
        let scaling = if chi_square_tail(chi_square, free) < BEYOND_CHANCE {
            Scaling::ScaledUp { factor: (chi_square / free).sqrt() }
        } else {
            Scaling::AsStated
        };
        let n = 3 * self.readings.len();
        let mut by_place = DMatrix::zeros(residuals.len(), n);
        for (k, origin) in origins.iter().enumerate() {
            if let Some((reading, gradient)) = origin {
                for axis in 0..3 {
                    by_place[(k, 3 * reading + axis)] = gradient[axis];
                }
            }
        }
        let by_component = &cofactor * jacobian.transpose();
        // Parameters run against the residuals that a reading's place raises.
        let response = -(&by_component * &by_place) * scaling.factor();
        let covariance = match self.reading_covariance {
            None => &cofactor * scaling.factor().powi(2),
            Some(joint) => {
                if joint.shape() != (n, n) {
                    return Err(FitError::BadOption {
                        what: format!(
                            "the readings' covariance is {} by {}, {} readings need {n} by {n}",
                            joint.nrows(),
                            joint.ncols(),
                            self.readings.len()
                        ),
                        cure: "give three rows and columns a reading, in the order of the readings"
                            .to_owned(),
                    });
                }
                // Components known beforehand are independent of the readings, with unit variance here.
                let beforehand = DMatrix::from_fn(residuals.len(), residuals.len(), |a, b| {
                    if a == b && origins[a].is_none() { 1.0 } else { 0.0 }
                });
                let components = &by_place * joint * by_place.transpose() + beforehand;
                &by_component * components * by_component.transpose() * scaling.factor().powi(2)
            }
        };
        let (standardised, suspects) = self.stand_out(&cofactor, degrees_of_freedom, chi_square, scaling);
        let spare = self.readings.len().saturating_sub(self.least);
        let n = self.readings.len() as f64;
        let rms = (self.residuals_mm.iter().map(|r| r * r).sum::<f64>() / n).sqrt();
        let residuals = self
            .readings
            .iter()
            .zip(&self.residuals_mm)
            .zip(standardised)
            .map(|((reading, &residual_mm), standardised)| ReadingResidual {
                name: reading.name.clone(),
                residual_mm,
                standardised,
            })
            .collect();
        let quality = FitQuality {
            residuals,
            rms_mm: (spare > 0).then_some(rms),
            spare,
            degrees_of_freedom,
            form_mm: self.form_mm,
            chi_square,
            scaling,
            iterations: self.minimum.iterations,
            converged: self.minimum.converged,
            suspects,
            response,
        };
        Ok((covariance, quality))
    }

    /// Standardised residual of each reading, and those that stand out.
    ///
    /// A reading stands out when its residual is beyond chance for the stated sigmas and, where all
    /// readings scatter more than stated, only if the others agree without it.
    fn stand_out(
        &self,
        cofactor: &DMatrix<f64>,
        degrees_of_freedom: usize,
        chi_square: f64,
        scaling: Scaling,
    ) -> (Vec<Option<f64>>, Vec<usize>) {
        let Evaluation { residuals, jacobian, origins } = &self.minimum.evaluation;
        let mut components = vec![Vec::new(); self.readings.len()];
        for (k, origin) in origins.iter().enumerate() {
            if let Some((reading, _)) = origin {
                components[*reading].push(k);
            }
        }
        let mut standardised = Vec::with_capacity(self.readings.len());
        let mut suspects = Vec::new();
        for (i, own) in components.iter().enumerate() {
            // Share of each component that the other readings check.
            let rows = jacobian.select_rows(own);
            let checked = DMatrix::identity(own.len(), own.len()) - &rows * cofactor * rows.transpose();
            let eigen = checked.symmetric_eigen();
            let values = residuals.select_rows(own);
            let (mut squared, mut count) = (0.0, 0);
            for (share, direction) in eigen.eigenvalues.iter().zip(eigen.eigenvectors.column_iter()) {
                if *share > 1e-6 {
                    squared += direction.dot(&values).powi(2) / share;
                    count += 1;
                }
            }
            if count == 0 || degrees_of_freedom == 0 {
                standardised.push(None);
                continue;
            }
            standardised.push(Some(squared.sqrt().copysign(self.residuals_mm[i])));
            let others_free = degrees_of_freedom as f64 - count as f64;
            let others = (chi_square - squared).max(0.0);
            let beyond = chi_square_tail(squared, count as f64) < BEYOND_CHANCE;
            let alone = scaling == Scaling::AsStated
                || others_free > 0.0
                    && (chi_square_tail(others, others_free) > BEYOND_CHANCE
                        || f_tail(
                            squared / count as f64 / (others / others_free),
                            count as f64,
                            others_free,
                        ) < BEYOND_CHANCE);
            if beyond && alone {
                suspects.push(i);
            }
        }
        suspects.sort_by(|&a, &b| {
            let size = |i: usize| standardised[i].map_or(0.0, f64::abs);
            size(b).total_cmp(&size(a))
        });
        (standardised, suspects)
    }
}

/// Inverse of `J^T J`, columns scaled first; `None` when some combination of parameters goes unseen.
pub(in crate::survey) fn inverse_normal(jacobian: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let parameters = jacobian.ncols();
    let scale: Vec<f64> = jacobian.column_iter().map(|column| column.norm()).collect();
    if jacobian.nrows() < parameters || scale.iter().any(|s| !s.is_finite() || *s <= 0.0) {
        return None;
    }
    let scaled = DMatrix::from_fn(jacobian.nrows(), parameters, |i, j| jacobian[(i, j)] / scale[j]);
    let svd = scaled.svd(false, true);
    let greatest = svd.singular_values.max();
    if svd.singular_values.min() <= 1e-9 * greatest {
        return None;
    }
    let v = svd.v_t?.transpose();
    let spread = DMatrix::from_diagonal(&svd.singular_values.map(|s| 1.0 / (s * s)));
    let inverse = &v * spread * v.transpose();
    Some(DMatrix::from_fn(parameters, parameters, |i, j| inverse[(i, j)] / (scale[i] * scale[j])))
}

/// Greatest less least.
pub(super) fn zone_width(signed: &[f64]) -> f64 {
    let greatest = signed.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = signed.iter().copied().fold(f64::INFINITY, f64::min);
    if signed.is_empty() { 0.0 } else { greatest - least }
}
