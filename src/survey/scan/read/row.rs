//! Points as they come out of a piece of a file, and what becomes of those that are no numbers.

use nalgebra::{Point3, Vector3};

use crate::solid::{FileFault, number};

use super::super::{PointCloud, ScanError};
use super::{NotFinite, ScanOptions, ScanSink, ScanSummary};

/// What one piece of a file gives.
#[derive(Debug, Default)]
pub(super) struct Piece {
    pub(super) points: Vec<Point3<f64>>,
    pub(super) normals: Vec<Vector3<f64>>,
    pub(super) left_out: usize,
    /// Whether any number was written with a decimal point or an exponent.
    pub(super) decimals: bool,
}

impl Piece {
    /// Adds a point in the file's unit.
    pub(super) fn push(
        &mut self,
        options: &ScanOptions,
        at: [f64; 3],
        normal: Option<[f64; 3]>,
    ) -> Result<(), FileFault> {
        let point = Point3::from(at) * options.units.mm();
        if !point.iter().all(|value| value.is_finite()) {
            return match options.not_finite {
                NotFinite::LeaveOut => {
                    self.left_out += 1;
                    Ok(())
                }
                NotFinite::Refuse => {
                    let found = at.iter().find(|value| !(**value * options.units.mm()).is_finite());
                    Err(FileFault::NotFinite { found: found.map_or_else(String::new, f64::to_string) })
                }
            };
        }
        self.points.push(point);
        if let Some(normal) = normal {
            self.normals.push(unit_or_zero(normal));
        }
        Ok(())
    }

    /// Hands everything to the sink.
    pub(super) fn give(
        mut self,
        sink: &mut dyn ScanSink,
        summary: &mut ScanSummary,
    ) -> Result<(), ScanError> {
        summary.points += self.points.len();
        summary.left_out += self.left_out;
        let buffer: &mut PointCloud = sink.buffer();
        buffer.points.append(&mut self.points);
        buffer.normals.append(&mut self.normals);
        sink.taken()
    }
}

/// A direction of length 1; zero, for unknown, when it has none.
pub(super) fn unit_or_zero(normal: [f64; 3]) -> Vector3<f64> {
    let normal = Vector3::from(normal);
    let length = normal.norm();
    if length > 1e-12 && length.is_finite() { normal / length } else { Vector3::zeros() }
}

/// A coordinate as text; one that is no number passes as NaN where such points are left out.
pub(super) fn coordinate(word: &[u8], options: &ScanOptions) -> Result<f64, FileFault> {
    match number(word) {
        Err(FileFault::NotFinite { .. }) if options.not_finite == NotFinite::LeaveOut => Ok(f64::NAN),
        other => other,
    }
}

/// Three of these words as a direction; unknown when one is no number.
pub(super) fn direction(words: [&[u8]; 3]) -> Result<[f64; 3], FileFault> {
    let mut found = [0.0; 3];
    for (value, word) in found.iter_mut().zip(words) {
        *value = match number(word) {
            Err(FileFault::NotFinite { .. }) => f64::NAN,
            other => other?,
        };
    }
    Ok(found)
}
