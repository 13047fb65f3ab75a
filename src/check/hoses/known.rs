//! How well a hose's holds are known: its ports and clips as independent errors of one standard uncertainty each.

use nalgebra::{Matrix3, Matrix6, Point3, Vector3};

use crate::hose::HoldError;
use crate::scene::{Body, HoseRun};

/// Turns are counted as shifts this far away while a covariance is told as independent errors, mm: any length does.
const ARM_MM: f64 = 100.0;

/// Covariance of a hold's small shift and turn, about itself, in the body's frame.
///
/// What the hose says of its own ends stands; else what is known of the body's place, there. How errors of two holds go together
/// is not said, so they count as independent: a body that is off as a whole would not stretch its hose at all, but its ends
/// were measured one by one.
fn covariance(body: &Body, run: &HoseRun, hold: usize, at: &Point3<f64>) -> Matrix6<f64> {
    let placed = body.placement.covariance_at(&(body.world_from_body * at));
    // Into the body's frame.
    let turn = body.world_from_body.rotation.inverse().to_rotation_matrix().into_inner();
    let mut into = Matrix6::zeros();
    into.fixed_view_mut::<3, 3>(0, 0).copy_from(&turn);
    into.fixed_view_mut::<3, 3>(3, 3).copy_from(&turn);
    let mut told = into * placed * into.transpose();
    let last = run.hose.clips.len() + 1;
    let own_mm = match hold {
        0 => run.known.from_mm,
        hold if hold == last => run.known.to_mm,
        _ => None,
    };
    let mut replace = |at: usize, sigma: f64| {
        // What is said of the end itself goes with nothing else.
        for row in at..at + 3 {
            for column in 0..6 {
                told[(row, column)] = 0.0;
                told[(column, row)] = 0.0;
            }
        }
        let block = Matrix3::identity() * (sigma * sigma);
        told.fixed_view_mut::<3, 3>(at, at).copy_from(&block);
    };
    if let Some(sigma) = own_mm {
        replace(0, sigma);
    }
    if let (Some(sigma), true) = (run.known.out_rad, hold == 0 || hold == last) {
        replace(3, sigma);
    }
    told
}

/// Whether anything is known to be uncertain about where the hose is held and how long it is.
pub(super) fn is_exact(body: &Body, run: &HoseRun) -> bool {
    hold_errors(body, run, &run.hose.holds().iter().map(|hold| hold.0).collect::<Vec<_>>()).is_empty()
        && run.known.length_mm <= 0.0
}

/// Independent errors of the holds at given places, in the body's frame: the principal axes of each hold's covariance.
pub(super) fn hold_errors(body: &Body, run: &HoseRun, holds: &[Point3<f64>]) -> Vec<HoldError> {
    let mut errors = Vec::new();
    for (hold, at) in holds.iter().enumerate() {
        let scale = Matrix6::from_diagonal(&nalgebra::Vector6::new(1.0, 1.0, 1.0, ARM_MM, ARM_MM, ARM_MM));
        let eigen = (scale * covariance(body, run, hold, at) * scale).symmetric_eigen();
        for (value, way) in eigen.eigenvalues.iter().zip(eigen.eigenvectors.column_iter()) {
            let sigma = value.max(0.0).sqrt();
            if sigma > 1e-9 {
                errors.push(HoldError {
                    hold,
                    shift_mm: Vector3::new(way[0], way[1], way[2]) * sigma,
                    turn_rad: Vector3::new(way[3], way[4], way[5]) * (sigma / ARM_MM),
                });
            }
        }
    }
    errors
}

/// Variance (mm^2) of the straight way between two holds, by how each moves along it: exact to first order.
///
/// # Source
/// JCGM 100:2008, 5.2.2 eq. (13).
pub(super) fn chord_variance(
    body: &Body,
    run: &HoseRun,
    (one, one_at): (usize, &Point3<f64>),
    (other, other_at): (usize, &Point3<f64>),
    way: &Vector3<f64>,
) -> f64 {
    [(one, one_at), (other, other_at)]
        .iter()
        .map(|(hold, at)| {
            let placed: Matrix3<f64> = covariance(body, run, *hold, at).fixed_view::<3, 3>(0, 0).into_owned();
            way.dot(&(placed * way)).max(0.0)
        })
        .sum()
}
