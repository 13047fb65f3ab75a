//! The equations of a small shift and turn, gathered from pairs and solved.

use nalgebra::{Matrix6, Point3, Translation3, UnitQuaternion, Vector3, Vector6};
use rayon::prelude::*;

use crate::space::Pose;

use super::pairs::{Pair, TASK};

/// Sums over all pairs. Shift in mm and turn in rad, about [`Self::about`].
#[derive(Clone, Debug)]
pub(super) struct Equations {
    pub(super) about: Point3<f64>,
    /// Sum of w J^T J, J = (normal, lever x normal).
    pub(super) normal: Matrix6<f64>,
    /// Sum of w J^T r.
    pub(super) gradient: Vector6<f64>,
    /// Sum of w.
    pub(super) weight: f64,
    /// Sum of w r^2.
    pub(super) squares: f64,
    /// Root mean square distance of the pairs from [`Self::about`], mm.
    pub(super) size_mm: f64,
}

/// Sums of w J^T J, w J^T r, w, w r^2 and w times the square of the distance from the middle.
type Sums = (Matrix6<f64>, Vector6<f64>, f64, f64, f64);

/// How the distance changes with shift and turn.
pub(super) fn row(pair: &Pair, about: &Point3<f64>) -> Vector6<f64> {
    let lever = nalgebra::center(&pair.moved, &pair.fixed) - about;
    let turn = lever.cross(&pair.normal);
    let n = pair.normal;
    Vector6::new(n.x, n.y, n.z, turn.x, turn.y, turn.z)
}

pub(super) fn weight(off_mm: f64, scale_mm: f64) -> f64 {
    (1.0 + (off_mm / scale_mm).powi(2)).powi(-2)
}

/// Sum of w J^T r about a point that stays: what is zero where the search comes to rest.
pub(super) fn pull(pairs: &[Pair], scale_mm: f64, about: &Point3<f64>) -> Vector6<f64> {
    let parts: Vec<Vector6<f64>> = pairs
        .par_chunks(TASK)
        .map(|chunk| {
            chunk.iter().fold(Vector6::zeros(), |sum, pair| {
                sum + row(pair, about) * (weight(pair.off_mm, scale_mm) * pair.off_mm)
            })
        })
        .collect();
    parts.into_iter().sum()
}

impl Equations {
    /// Each pair weighs by its distance against `scale_mm`. Parts are summed in their order: the answer does not depend on
    /// who worked out which.
    pub(super) fn of(pairs: &[Pair], scale_mm: f64) -> Self {
        let count = pairs.len().max(1) as f64;
        let about = Point3::from(pairs.iter().map(|pair| pair.moved.coords).sum::<Vector3<f64>>() / count);
        let zero: Sums = (Matrix6::zeros(), Vector6::zeros(), 0.0, 0.0, 0.0);
        let parts: Vec<Sums> = pairs
            .par_chunks(TASK)
            .map(|chunk| {
                let mut sums = zero;
                for pair in chunk {
                    let w = weight(pair.off_mm, scale_mm);
                    let row = row(pair, &about);
                    sums.0 += row * row.transpose() * w;
                    sums.1 += row * (w * pair.off_mm);
                    sums.2 += w;
                    sums.3 += w * pair.off_mm * pair.off_mm;
                    sums.4 += w * (pair.moved - about).norm_squared();
                }
                sums
            })
            .collect();
        let (normal, gradient, weight, squares, size) = parts.into_iter().fold(zero, |sum, part| {
            (sum.0 + part.0, sum.1 + part.1, sum.2 + part.2, sum.3 + part.3, sum.4 + part.4)
        });
        let size_mm = (size / weight.max(f64::MIN_POSITIVE)).sqrt().max(1e-6);
        Equations { about, normal, gradient, weight, squares, size_mm }
    }

    /// The normal matrix with turns measured by the way of a point [`Self::size_mm`] off, a unit of weight.
    pub(super) fn scaled(&self) -> Matrix6<f64> {
        let unit = |k: usize| if k < 3 { 1.0 } else { 1.0 / self.size_mm };
        Matrix6::from_fn(|i, j| self.normal[(i, j)] * unit(i) * unit(j) / self.weight.max(f64::MIN_POSITIVE))
    }

    /// The change that takes the distances down most: shift, then turn times [`Self::size_mm`], all in mm of a typical point. What
    /// the pairs leave open does not change.
    pub(super) fn change(&self) -> Vector6<f64> {
        let eigen = self.scaled().symmetric_eigen();
        let unit = |k: usize| if k < 3 { 1.0 } else { 1.0 / self.size_mm };
        let weight = self.weight.max(f64::MIN_POSITIVE);
        let gradient = Vector6::from_fn(|k, _| self.gradient[k] * unit(k) / weight);
        let mut change = Vector6::zeros();
        for (value, vector) in eigen.eigenvalues.iter().zip(eigen.eigenvectors.column_iter()) {
            if *value > 1e-9 {
                change -= vector * (vector.dot(&gradient) / value);
            }
        }
        change
    }

    /// The movement that a change stands for.
    pub(super) fn movement(&self, change: &Vector6<f64>) -> Pose {
        let shift = Vector3::new(change[0], change[1], change[2]);
        let turn = Vector3::new(change[3], change[4], change[5]) / self.size_mm;
        let back = Translation3::from(-self.about.coords);
        let there = Translation3::from(self.about.coords + shift);
        there * UnitQuaternion::from_scaled_axis(turn) * back
    }
}
