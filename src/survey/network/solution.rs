//! What a solved network holds.

use nalgebra::{DMatrix, Matrix3, Point3, Vector3};
use serde::Serialize;

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

/// A round thing whose diameter was measured.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RoundThing {
    /// The mark that is its middle.
    pub name: String,
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Standard uncertainty of it, mm.
    pub sigma_mm: f64,
}

/// A solved network.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NetworkSolution {
    /// Every mark with a place: the known ones first, in the order given, then the taped ones in the order met.
    pub marks: Vec<NetworkMark>,
    /// Joint covariance, three rows a mark in the order of `marks`, mm^2.
    pub covariance: DMatrix<f64>,
    /// Round things by their middles, in the order met.
    pub rounds: Vec<RoundThing>,
    /// What all tape lengths read too long, mm, and its standard uncertainty; `None` unless it was looked for.
    pub zero_mm: Option<(f64, f64)>,
    /// One a reading, in the order given; dropped ones too.
    pub residuals: Vec<TapeResidual>,
    /// Readings that stand out, the likeliest first.
    pub suspects: Vec<TapeSuspect>,
    /// Readings beyond those that fix the marks; dropped ones not counted.
    pub spare: usize,
    /// Sum of squared residuals, each over its sigma; dropped readings not counted.
    pub chi_square: f64,
    /// Factor on all standard uncertainties because the readings scatter more than stated
    /// (chi-square beyond 0.1 %); 1 when they do not. Of a robust solution (Huber) what its weights cost, by their own
    /// formula. The covariance holds it already.
    pub scale: f64,
    /// How each reading that counted answers to the marks' places; those of round things are left out.
    #[serde(skip)]
    pub slopes: Vec<ReadingSlope>,
    /// Steps of the last adjustment.
    pub iterations: usize,
    /// Whether the last step was negligible.
    pub converged: bool,
}

/// How a reading answers to the places of marks.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingSlope {
    /// The reading: `P3-D1`; or the mark that was known beforehand: `mark D1`.
    pub what: String,
    /// A row a component: index into [`NetworkSolution::marks`] and the slope over the reading's sigma, 1/mm.
    pub rows: Vec<Vec<(usize, Vector3<f64>)>>,
}

/// Residual of one tape reading.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TapeResidual {
    /// The mark that was measured.
    pub mark: String,
    /// What it was measured from: the mark at which the tape was hooked, the panel's marks; empty when nothing.
    pub from: String,
    /// As read, the hook added, mm.
    pub distance_mm: f64,
    /// Read less solved, mm: positive when the tape reads long. For an edge along it, for plumb how far apart.
    pub residual_mm: f64,
    /// Over its own standard deviation; `None` when nothing checks this reading or it was dropped.
    pub standardised: Option<f64>,
    /// Share of this reading's own error that shows in its residual, 0 (nothing checks it) to 1; of a reading of several
    /// parts the least. An error below about 4 sigma over the root of it is likely to hide.
    pub checked: f64,
}

/// A tape reading that disagrees with the others.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TapeSuspect {
    /// Index into [`NetworkSolution::residuals`]; `None` for a known mark whose stated place disagrees.
    pub reading: Option<usize>,
    /// By how much it seems wrong, mm: positive when it reads long.
    pub error_mm: f64,
    /// Whether it was left out of the solution; else it is one of several that may be wrong, all kept.
    pub dropped: bool,
    /// `C7-C12 is about 100 mm long: misread?`
    pub message: String,
}
