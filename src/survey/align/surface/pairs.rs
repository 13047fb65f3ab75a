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

/// Pairs no farther apart than `within_mm`, one or none a moving point, in their order; `hints` are the last ones' numbers,
/// `u32::MAX` for none.
pub(super) fn pairs(
    fixed: &Level,
    moving: &Level,
    fixed_from_moving: &Pose,
    within_mm: f64,
    hints: &mut [u32],
) -> Vec<Pair> {
    let turn = fixed_from_moving.rotation.to_rotation_matrix();
    let shift = fixed_from_moving.translation.vector;
    let found: Vec<Vec<Pair>> = hints
        .par_chunks_mut(TASK)
        .enumerate()
        .map(|(task, hints)| {
            let first = task * TASK;
            hints
                .iter_mut()
                .enumerate()
                .filter_map(|(k, hint)| {
                    let moved = turn * moving.cloud.points[first + k] + shift;
                    let mut within = within_mm;
                    if let Some(last) = fixed.cloud.points.get(*hint as usize) {
                        // A little more, lest rounding loses it.
                        within = within.min((last - moved).norm() * (1.0 + 1e-9));
                    }
                    let found = fixed.tree.nearest(&moved, within)?;
                    *hint = found.index;
                    let own = turn * moving.cloud.normals[first + k];
                    let theirs = fixed.cloud.normals[found.index as usize];
                    let cosine = own.dot(&theirs);
                    if cosine.abs() < SAME_SIDE {
                        return None;
                    }
                    let own = if cosine < 0.0 { -own } else { own };
                    let normal = (own + theirs).normalize();
                    let fixed = fixed.cloud.points[found.index as usize];
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
