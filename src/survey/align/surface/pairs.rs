//! What lies on what: each moving point with the nearest of the fixed ones.

use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

use crate::space::Pose;

use super::levels::Level;

/// Points of one task.
pub(super) const TASK: usize = 512;
/// Normals farther apart than this belong to different surfaces: 45 degrees.
const SAME_SIDE: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// A moving point and the fixed one that it lies beside.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pair {
    /// The moving point, moved.
    pub(super) moved: Point3<f64>,
    /// The fixed point.
    pub(super) fixed: Point3<f64>,
    /// Mean of both normals.
    pub(super) normal: Vector3<f64>,
    /// Distance of the moving point from the fixed along it, mm.
    pub(super) off_mm: f64,
    /// Square of the difference of both normals.
    pub(super) bent: f64,
}

/// How much farther than the last neighbour is looked, in cells: what is known of others must not end with it.
const AHEAD: f64 = 0.3;

/// What is known of the neighbours of a moving point from where it was when they were looked for.
///
/// All others stay at least as far off as they were, less the way that the point has gone: while its neighbour is nearer than
/// that, it is the nearest still, and nothing is looked for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Known {
    /// Number of the nearest fixed point; `u32::MAX` for none.
    nearest: u32,
    /// Where the moving point was then.
    at: Point3<f64>,
    /// No other fixed point was nearer to it, mm.
    others_mm: f64,
}

impl Known {
    /// Nothing.
    pub(super) const NOTHING: Known =
        Known { nearest: u32::MAX, at: Point3::new(0.0, 0.0, 0.0), others_mm: 0.0 };

    /// The nearest of the fixed points and no farther than `within_mm`.
    fn nearest(&mut self, fixed: &Level, moved: &Point3<f64>, within_mm: f64) -> Option<u32> {
        // Rounding of a distance is far less than this share of it.
        const LESS: f64 = 1.0 - 1e-9;
        let others_mm = self.others_mm - (moved - self.at).norm();
        let mut look_mm = within_mm;
        match fixed.cloud.points.get(self.nearest as usize) {
            Some(last) => {
                let last_mm = (last - moved).norm();
                if last_mm < others_mm * LESS {
                    return (last_mm <= within_mm).then_some(self.nearest);
                }
                look_mm = look_mm.min(last_mm / LESS + AHEAD * fixed.voxel_mm);
            }
            None if within_mm < others_mm * LESS => return None,
            None => {}
        }
        let (found, others_sq) = fixed.tree.nearest_and_others(moved, look_mm);
        *self =
            Known { nearest: found.map_or(u32::MAX, |f| f.index), at: *moved, others_mm: others_sq.sqrt() };
        found.filter(|found| found.distance_sq <= within_mm * within_mm).map(|found| found.index)
    }
}

/// Pairs no farther apart than `within_mm`, one or none a moving point, in their order; `known` is what the last search left.
pub(super) fn pairs(
    fixed: &Level,
    moving: &Level,
    fixed_from_moving: &Pose,
    within_mm: f64,
    known: &mut [Known],
) -> Vec<Pair> {
    let turn = fixed_from_moving.rotation.to_rotation_matrix();
    let shift = fixed_from_moving.translation.vector;
    let found: Vec<Vec<Pair>> = known
        .par_chunks_mut(TASK)
        .enumerate()
        .map(|(task, known)| {
            let first = task * TASK;
            known
                .iter_mut()
                .enumerate()
                .filter_map(|(k, known)| {
                    let moved = turn * moving.cloud.points[first + k] + shift;
                    let nearest = known.nearest(fixed, &moved, within_mm)? as usize;
                    let own = turn * moving.cloud.normals[first + k];
                    let theirs = fixed.cloud.normals[nearest];
                    let cosine = own.dot(&theirs);
                    if cosine.abs() < SAME_SIDE {
                        return None;
                    }
                    let own = if cosine < 0.0 { -own } else { own };
                    let normal = (own + theirs).normalize();
                    let fixed = fixed.cloud.points[nearest];
                    let off_mm = (moved - fixed).dot(&normal);
                    Some(Pair { moved, fixed, normal, off_mm, bent: (own - theirs).norm_squared() })
                })
                .collect()
        })
        .collect();
    found.concat()
}

/// Standard deviation of the distances, from their median, mm (1.4826 is 1 over the 75th percentile of a normal distribution).
pub(super) fn scatter_mm(pairs: &[Pair]) -> f64 {
    1.4826 * median(pairs.iter().map(|pair| pair.off_mm.abs()))
}

/// Median of at most about 20 000 of the values; 0 of none.
pub(super) fn median(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let every = (values.len() / 20_000).max(1);
    let mut some: Vec<f64> = values.step_by(every).collect();
    if some.is_empty() {
        return 0.0;
    }
    let middle = some.len() / 2;
    *some.select_nth_unstable_by(middle, f64::total_cmp).1
}
