//! Solving.
use nalgebra::{DMatrix, Matrix3, Point3};
use serde::Serialize;

use super::{KnownMark, NetworkError, TapeReading};

/// A mark of a solved network.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NetworkMark {
    /// Name.
    pub name: String,
    /// Place, mm.
    pub position: Point3<f64>,
    /// Covariance of its place, mm^2.
    pub covariance: Matrix3<f64>,
}

/// A solved network.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NetworkSolution {
    /// Every mark of the network: the known ones first.
    pub marks: Vec<NetworkMark>,
    /// Joint covariance, three rows a mark, mm^2.
    pub covariance: DMatrix<f64>,
    /// One a reading, in the order given.
    pub residuals: Vec<TapeResidual>,
    /// Readings that stand out.
    pub suspects: Vec<TapeSuspect>,
    /// Readings beyond the least number.
    pub spare: usize,
    /// Sum of squared residuals over sigma.
    pub chi_square: f64,
    /// Factor by which the stated sigmas were found too small; 1 when they were not.
    pub scale: f64,
    /// Steps.
    pub iterations: usize,
    /// Whether the last step was negligible.
    pub converged: bool,
}

/// Residual of one tape reading.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TapeResidual {
    /// Mark.
    pub mark: String,
    /// From.
    pub from: String,
    /// As read, mm.
    pub distance_mm: f64,
    /// Read less solved, mm: positive when the tape read long.
    pub residual_mm: f64,
    /// Over its own standard deviation; `None` when nothing checks this reading.
    pub standardised: Option<f64>,
}

/// A tape reading that disagrees with the others.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TapeSuspect {
    /// Index into [`NetworkSolution::residuals`].
    pub reading: usize,
    /// By how much it seems wrong, mm: positive when it reads long.
    pub error_mm: f64,
    /// Whether it was left out of the solution.
    pub dropped: bool,
    /// `C7-C12 is about 100 mm long: misread?`
    pub message: String,
}

/// Solves.
///
/// # Errors
/// [`NetworkError`].
pub fn solve_network(_known: &[KnownMark], _tape: &[TapeReading]) -> Result<NetworkSolution, Vec<NetworkError>> {
    unimplemented!()
}
