//! What a tape tells.
use nalgebra::Point3;

use crate::space::Direction;

/// A mark whose place is known before the tape comes out.
#[derive(Clone, Debug, PartialEq)]
pub struct KnownMark {
    /// Name.
    pub name: String,
    /// Place, mm.
    pub position: Point3<f64>,
    /// Standard uncertainty of each coordinate, mm; 0 for a mark that is right by definition.
    pub sigma_mm: f64,
}

/// A taped distance between two marks.
#[derive(Clone, Debug, PartialEq)]
pub struct TapeReading {
    /// The mark that was measured.
    pub mark: String,
    /// The mark at which the tape was hooked.
    pub from: String,
    /// Distance, mm.
    pub distance_mm: f64,
    /// Standard uncertainty, mm.
    pub sigma_mm: f64,
    /// On which side of the marks it was measured from `mark` lies, where lengths leave two mirror places.
    pub side: Option<Direction>,
    /// Line of the file, from 1; 0 when there is none.
    pub line: usize,
}
