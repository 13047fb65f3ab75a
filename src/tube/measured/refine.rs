//! Least squares over the whole tube at once.

use nalgebra::{DMatrix, DVector, Point3};

use super::model::Model;

/// Where the refinement ended.
pub(super) struct Refined {
    pub model: Model,
    pub iterations: usize,
    pub converged: bool,
    /// Variance of each parameter for points of unit sigma; a direction that no point tells counts as zero.
    pub variances: Vec<f64>,
}

/// Step of the central differences, mm.
const STEP_MM: f64 = 1e-4;
const MOST_STEPS: usize = 100;

fn residuals(model: &Model, points: &[Point3<f64>]) -> DVector<f64> {
    let offsets = model.offsets(points);
    DVector::from_iterator(3 * offsets.len(), offsets.iter().flat_map(|off| [off.x, off.y, off.z]))
}

fn jacobian(model: &Model, points: &[Point3<f64>], held: &[bool]) -> DMatrix<f64> {
    let size = model.size();
    let columns: Vec<DVector<f64>> = (0..size)
        .map(|parameter| {
            let radius = parameter.checked_sub(3 * model.points.len());
            if radius.is_some_and(|radius| held[radius]) {
                return DVector::zeros(3 * points.len());
            }
            let mut step = DVector::zeros(size);
            step[parameter] = STEP_MM;
            let (above, below) = (model.stepped(&step), model.stepped(&-step));
            (residuals(&above, points) - residuals(&below, points)) / (2.0 * STEP_MM)
        })
        .collect();
    DMatrix::from_columns(&columns)
}

/// Damped Gauss-Newton steps (Levenberg and Marquardt) with derivatives by central differences. Radii that
/// are `held` stay.
pub(super) fn refine(start: Model, points: &[Point3<f64>], held: &[bool]) -> Refined {
    let mut model = start;
    let mut here = residuals(&model, points);
    let mut damping = 1e-4;
    let (mut iterations, mut converged) = (0, false);
    while iterations < MOST_STEPS && !converged {
        let slope = jacobian(&model, points, held);
        let normal = slope.transpose() * &slope;
        let gradient = slope.transpose() * &here;
        let mut taken = false;
        while !taken && damping < 1e12 {
            iterations += 1;
            let mut damped = normal.clone();
            for k in 0..damped.nrows() {
                // What no point tells (an end along its straight) stays where it is.
                damped[(k, k)] += damping * normal[(k, k)].max(1e-6);
            }
            let Some(step) = damped.cholesky().map(|factored| factored.solve(&-&gradient)) else {
                damping *= 10.0;
                continue;
            };
            let next = model.stepped(&step);
            let there = residuals(&next, points);
            let gain = here.norm_squared() - there.norm_squared();
            if gain >= 0.0 {
                converged = step.amax() < 1e-8 || gain <= 1e-14 * here.norm_squared();
                (model, here, taken) = (next, there, true);
                damping = (damping * 0.2).max(1e-12);
            } else if step.amax() < 1e-8 {
                (converged, taken) = (true, true);
            } else {
                damping *= 10.0;
            }
        }
        if !taken {
            break;
        }
    }
    let slope = jacobian(&model, points, held);
    let eigen = (slope.transpose() * &slope).symmetric_eigen();
    let greatest = eigen.eigenvalues.amax();
    let variances = (0..model.size())
        .map(|parameter| {
            (0..model.size())
                .filter(|&k| eigen.eigenvalues[k] > 1e-10 * greatest)
                .map(|k| eigen.eigenvectors[(parameter, k)].powi(2) / eigen.eigenvalues[k])
                .sum()
        })
        .collect();
    Refined { model, iterations, converged, variances }
}
