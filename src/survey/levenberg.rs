//! Weighted least squares by damped Gauss-Newton steps (Levenberg and Marquardt).
//!
//! The state may be anything, a pose or a direction included: a step is given in local
//! parameters about the present state. Leaves to others: residuals, their derivatives, starts.

use nalgebra::{DMatrix, DVector, Vector3};

/// Residuals at a state, each over its sigma, and how they change.
#[derive(Clone, Debug)]
pub(super) struct Evaluation {
    /// One a component.
    pub residuals: DVector<f64>,
    /// Change of each residual with each local parameter.
    pub jacobian: DMatrix<f64>,
    /// Which reading each component belongs to, and its change with that reading's place, 1/mm
    /// over sigma; `None` for what was given otherwise than by a reading.
    pub origins: Vec<Option<(usize, Vector3<f64>)>>,
}

impl Evaluation {
    /// Room for so many local parameters; components are pushed.
    pub(super) fn builder(parameters: usize) -> EvaluationBuilder {
        EvaluationBuilder { parameters, residuals: Vec::new(), rows: Vec::new(), origins: Vec::new() }
    }

    /// Sum of squares.
    pub(super) fn chi_square(&self) -> f64 {
        self.residuals.norm_squared()
    }
}

/// Gathers components one by one.
pub(super) struct EvaluationBuilder {
    parameters: usize,
    residuals: Vec<f64>,
    rows: Vec<f64>,
    origins: Vec<Option<(usize, Vector3<f64>)>>,
}

impl EvaluationBuilder {
    /// A component of a reading: residual and derivatives in mm, divided by sigma here.
    /// `gradient` is the change of the residual with the reading's place.
    pub(super) fn reading(
        &mut self,
        index: usize,
        sigma_mm: f64,
        residual: f64,
        gradient: Vector3<f64>,
        row: &[f64],
    ) {
        debug_assert_eq!(row.len(), self.parameters);
        self.residuals.push(residual / sigma_mm);
        self.rows.extend(row.iter().map(|x| x / sigma_mm));
        self.origins.push(Some((index, gradient / sigma_mm)));
    }

    /// A component that comes from no reading: a value known beforehand.
    pub(super) fn known(&mut self, sigma: f64, residual: f64, row: &[f64]) {
        debug_assert_eq!(row.len(), self.parameters);
        self.residuals.push(residual / sigma);
        self.rows.extend(row.iter().map(|x| x / sigma));
        self.origins.push(None);
    }

    /// The evaluation.
    pub(super) fn done(self) -> Evaluation {
        let components = self.residuals.len();
        Evaluation {
            residuals: DVector::from_vec(self.residuals),
            jacobian: DMatrix::from_row_slice(components, self.parameters, &self.rows),
            origins: self.origins,
        }
    }
}

/// Where the steps ended.
#[derive(Clone, Debug)]
pub(super) struct Minimum<S> {
    /// The state.
    pub state: S,
    /// Evaluation at it.
    pub evaluation: Evaluation,
    /// Steps tried.
    pub iterations: usize,
    /// Whether the last step was negligible.
    pub converged: bool,
}

/// Steps after which the search gives up.
const MOST_STEPS: usize = 300;

/// Minimises the sum of squared residuals from `start`.
///
/// Converged when a step changes the residuals by less than 1e-10 of a sigma, and less than 1e-10 of what they are.
pub(super) fn minimise<S: Clone>(
    start: S,
    evaluate: impl Fn(&S) -> Evaluation,
    step: impl Fn(&S, &DVector<f64>) -> S,
) -> Minimum<S> {
    let mut state = start;
    let mut here = evaluate(&state);
    let mut chi_square = here.chi_square();
    let mut damping = 1e-3;
    let mut iterations = 0;
    let mut converged = false;
    'steps: while iterations < MOST_STEPS && chi_square.is_finite() {
        let transposed = here.jacobian.transpose();
        let normal = &transposed * &here.jacobian;
        let gradient = &transposed * &here.residuals;
        let greatest = normal.diagonal().max();
        if greatest <= 0.0 || !greatest.is_finite() {
            break;
        }
        loop {
            iterations += 1;
            let mut damped = normal.clone();
            for k in 0..damped.nrows() {
                damped[(k, k)] += damping * normal[(k, k)].max(1e-14 * greatest);
            }
            let trial = damped.cholesky().map(|factored| factored.solve(&(-&gradient)));
            if let Some(change) = trial {
                let moved = (&here.jacobian * &change).norm();
                let negligible = moved <= 1e-10 * (1.0 + chi_square.sqrt());
                let next = step(&state, &change);
                let there = evaluate(&next);
                let next_chi_square = there.chi_square();
                // Near the end the sum of squares is flat to rounding and can no longer judge a step. What rounding does to it
                // grows with the readings' distance from zero: 1e-12 of it at a metre and half a mm of sigma.
                let flat =
                    moved * moved <= 1e-11 * chi_square && next_chi_square <= chi_square * (1.0 + 1e-11);
                if next_chi_square < chi_square || flat || (negligible && next_chi_square.is_finite()) {
                    state = next;
                    here = there;
                    chi_square = next_chi_square;
                    damping = (damping * 0.1).max(1e-16);
                    if negligible && damping <= 1e-3 {
                        converged = true;
                        break 'steps;
                    }
                    break;
                }
            }
            damping *= 8.0;
            if damping > 1e14 || iterations >= MOST_STEPS {
                break 'steps;
            }
        }
    }
    Minimum { state, evaluation: here, iterations, converged }
}
