//! How well the surfaces hold each direction of a movement.

use nalgebra::{Matrix6, Point3, Vector3, Vector6};
use serde::Serialize;

use super::equations::Equations;

/// A direction of a small movement, and how well the surfaces hold it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Direction6 {
    /// Shift, of a movement that takes a typical point 1 mm.
    pub shift: Vector3<f64>,
    /// Turn, times the typical distance of the points from the middle of all, in the same movement, mm.
    pub turn_mm: Vector3<f64>,
    /// Mean square of how fast points leave the surface in this movement, 0 to 1 (an eigenvalue of the normal matrix for a
    /// unit of weight): 1/3 for a shift when normals point everywhere alike, 0 when the surface slides along itself.
    pub share: f64,
    /// The share that the errors of the normals alone would make.
    pub noise_share: f64,
    /// Standard uncertainty of the movement along it, mm for a typical point.
    pub sigma_mm: f64,
}

impl Direction6 {
    /// The movement in words.
    pub(super) fn words(&self, about: &Point3<f64>) -> String {
        let (shift, turn) = (self.shift.norm(), self.turn_mm.norm());
        let show = |v: &Vector3<f64>| {
            let v = v.normalize();
            format!("[{:.2}, {:.2}, {:.2}]", v.x, v.y, v.z)
        };
        let through = format!("through [{:.0}, {:.0}, {:.0}]", about.x, about.y, about.z);
        if shift > 4.0 * turn {
            format!("a shift along {}", show(&self.shift))
        } else if turn > 4.0 * shift {
            format!("a turn about {} {through}", show(&self.turn_mm))
        } else {
            format!("a turn about {} {through} with a shift along {}", show(&self.turn_mm), show(&self.shift))
        }
    }
}

/// The six directions, the worst held first.
pub(super) fn directions(
    equations: &Equations,
    covariance: &Matrix6<f64>,
    noise_share: f64,
) -> Vec<Direction6> {
    let eigen = equations.scaled().symmetric_eigen();
    let mut found: Vec<Direction6> = eigen
        .eigenvalues
        .iter()
        .zip(eigen.eigenvectors.column_iter())
        .map(|(share, vector)| {
            let vector: Vector6<f64> = vector.into_owned();
            // The same movement seen by the covariance, whose turns are in rad.
            let seen = Vector6::from_fn(|k, _| vector[k] * if k < 3 { 1.0 } else { equations.size_mm });
            Direction6 {
                shift: vector.fixed_rows::<3>(0).into_owned(),
                turn_mm: vector.fixed_rows::<3>(3).into_owned(),
                share: share.max(0.0),
                noise_share,
                sigma_mm: seen.dot(&(covariance * seen)).max(0.0).sqrt(),
            }
        })
        .collect();
    found.sort_by(|a, b| a.share.total_cmp(&b.share));
    found
}
