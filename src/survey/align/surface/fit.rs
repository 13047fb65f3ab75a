//! Where one scan lies on another, with the evidence.

use std::collections::BTreeMap;

use nalgebra::{Matrix6, Point3, Vector6};
use serde::Serialize;

use super::super::{AlignError, Alignment};
use super::directions::{Direction6, directions};
use super::equations::{Equations, row, weight};
use super::pairs::{Pair, median};
use crate::space::Pose;

/// Where one scan lies on another, with the evidence.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SurfaceFit {
    /// The pose (the moving scan is the survey, the fixed one stands in the vehicle's axes) and its covariance.
    pub alignment: Alignment,
    /// Steps taken, on all levels.
    pub iterations: usize,
    /// Whether the last step moved nothing any more.
    pub converged: bool,
    /// Share of the moving scan that lies beside a surface of the fixed one, 0 to 1.
    pub overlap: f64,
    /// Robust standard deviation of the distances along the normals, mm.
    pub scatter_mm: f64,
    /// Weighted root mean square of the same, mm.
    pub rms_mm: f64,
    /// The six directions of a movement, the worst held first.
    pub directions: Vec<Direction6>,
}

impl SurfaceFit {
    /// The pose found.
    pub fn fixed_from_moving(&self) -> &Pose {
        &self.alignment.vehicle_from_survey
    }

    /// Standard uncertainty (root of the sum over three axes) with which a place comes to stand, mm. See
    /// [`Alignment::point_covariance`].
    pub fn target_sigma_mm(&self, fixed: &Point3<f64>) -> f64 {
        self.alignment.point_covariance(fixed).trace().sqrt()
    }
}

/// How a search ended, on the finest level.
pub(super) struct Ended {
    /// How the pull of the pairs changes with (shift, turn), pairs found anew.
    pub(super) response: Matrix6<f64>,
    pub(super) fixed_from_moving: Pose,
    pub(super) pairs: Vec<Pair>,
    pub(super) moving_points: usize,
    pub(super) scatter_mm: f64,
    pub(super) scale_mm: f64,
    pub(super) voxel_mm: f64,
    pub(super) iterations: usize,
    pub(super) converged: bool,
}

impl Ended {
    /// Judges the end.
    ///
    /// # Errors
    /// Too little overlap, or a direction that the surfaces leave open.
    pub(super) fn judge(self, least_overlap: f64, least_share: f64) -> Result<SurfaceFit, AlignError> {
        let overlap = self.pairs.len() as f64 / self.moving_points.max(1) as f64;
        if overlap < least_overlap || self.pairs.len() < 50 {
            return Err(AlignError::Apart { share: overlap, least: least_overlap });
        }
        let equations = Equations::of(&self.pairs, self.scale_mm);
        // Two normals, each off by independent errors of this variance a component; their mean is off by half of it,
        // and that much of a slide would be taken for a hold. The median of the sum of two squares is 2 ln 2 of the variance.
        let bent = median(self.pairs.iter().map(|pair| pair.bent));
        let noise_share = bent / (2.0 * std::f64::consts::LN_2) / 4.0;
        let covariance = covariance(&self, &equations);
        let directions = directions(&equations, &covariance.unwrap_or_else(Matrix6::zeros), noise_share);
        let limit = least_share.max(3.0 * noise_share);
        let open: Vec<String> =
            directions.iter().filter(|d| d.share < limit).map(|d| d.words(&equations.about)).collect();
        let Some(covariance) = covariance.filter(|_| open.is_empty()) else {
            return Err(AlignError::Open { directions: open, share: directions[0].share, least: limit });
        };
        let mut remarks = Vec::new();
        if !self.converged {
            remarks.push("the search was cut off before the scans came to rest".to_owned());
        }
        Ok(SurfaceFit {
            alignment: Alignment {
                vehicle_from_survey: self.fixed_from_moving,
                about: equations.about,
                covariance,
                sensitivity: Vec::new(),
                scale: 1.0,
                remarks,
            },
            iterations: self.iterations,
            converged: self.converged,
            overlap,
            scatter_mm: self.scatter_mm,
            rms_mm: (equations.squares / equations.weight).sqrt(),
            directions,
        })
    }
}

/// The least share of the normal matrix with which the pull is taken to answer a movement.
const LEAST_ANSWER: f64 = 0.2;
/// Cells within which errors are taken to be alike, in cells of the finest level.
const ALIKE: f64 = 8.0;

/// Covariance of (shift, turn) about the middle. Errors of neighbouring points are alike (they share fixed points, normals and
/// the scanner's own errors), so they are summed over cells before they are squared. A is how the pull of all pairs answers to a movement,
/// measured by moving, for nearest points give way to it.
///
/// # Source
/// A^-1 (sum of g g^T over clusters) A^-1: Liang and Zeger, Biometrika 73 (1986) 13-22.
fn covariance(ended: &Ended, equations: &Equations) -> Option<Matrix6<f64>> {
    let unit = |k: usize| if k < 3 { 1.0 } else { 1.0 / equations.size_mm };
    let scaled = |m: &Matrix6<f64>| Matrix6::from_fn(|i, j| m[(i, j)] * unit(i) * unit(j));
    let response = scaled(&ended.response);
    // Against the normal matrix the answer is a share of 1 in each of six directions; chance makes some of them odd.
    let factor = scaled(&equations.normal).cholesky()?.l();
    let back = factor.try_inverse()?;
    let shares = (back * (response + response.transpose()) * back.transpose() * 0.5).symmetric_eigen();
    let turned = back.transpose() * shares.eigenvectors;
    let inverse = shares.eigenvalues.map(|share| 1.0 / share.clamp(LEAST_ANSWER, 1.0));
    let inverse = turned * Matrix6::from_diagonal(&inverse) * turned.transpose();
    let inverse = Matrix6::from_fn(|i, j| inverse[(i, j)] * unit(i) * unit(j));
    let mut cells: BTreeMap<[i64; 3], Vector6<f64>> = BTreeMap::new();
    for pair in &ended.pairs {
        let cell = [0, 1, 2].map(|axis| (pair.fixed[axis] / (ALIKE * ended.voxel_mm)).floor() as i64);
        let own = row(pair, &equations.about) * (weight(pair.off_mm, ended.scale_mm) * pair.off_mm);
        *cells.entry(cell).or_insert_with(Vector6::zeros) += own;
    }
    let count = cells.len() as f64;
    let middle = cells.values().fold(Matrix6::zeros(), |sum, g| sum + g * g.transpose());
    // Six parameters were taken from so many cells.
    let spare = if count > 7.0 { count / (count - 6.0) } else { return None };
    Some(inverse * middle * inverse * spare)
}
