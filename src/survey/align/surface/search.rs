//! From coarse to fine.

use nalgebra::{Matrix6, Translation3, UnitQuaternion, Vector3, Vector6};
use rayon::prelude::*;

use super::super::AlignError;
use super::equations::{Equations, pull};
use super::fit::{Ended, SurfaceFit};
use super::levels::{Level, ScanLevels};
use super::options::SurfaceOptions;
use super::pairs::{Known, Pair, pairs, scatter_mm};
use crate::space::Pose;
use crate::survey::scan::PointTree;

/// How far apart a pair may be, in cells, when a level has settled.
const SETTLED_REACH: f64 = 3.0;
/// By how much the reach shrinks a step on the coarsest level.
const SHRINK: f64 = 0.8;
/// A step that moves a typical point less than so many cells is the last: on the finest level, and on others.
const LAST_STEP: [f64; 2] = [1e-4, 5e-2];
/// Share of the moving scan that should lie within a cell of the fixed one on the coarsest level; where less does, other starts
/// are tried as well.
const CONTENT: f64 = 0.85;
/// How far other starts are turned, rad: 12 degrees.
const TURNED_RAD: f64 = 0.21;

/// Brings a moving scan onto a fixed one from a rough start.
///
/// Distances along the mean normal of both surfaces, weighted robustly, from coarse cells to fine; the same scans and start give
/// the same answer whatever the number of threads. Where the coarse search does not settle well, it starts again from poses
/// turned by 12 degrees each way, and goes on from the best.
///
/// # Errors
/// [`AlignError::Apart`]: too little of the moving scan lies on the fixed one. [`AlignError::Open`]: the surfaces slide along
/// each other in some direction (one plane, one tube, one ball), which is named.
pub fn align_surfaces(
    fixed: &ScanLevels,
    moving: &ScanLevels,
    start: &Pose,
    options: &SurfaceOptions,
) -> Result<SurfaceFit, AlignError> {
    options.check()?;
    let levels: Vec<(&Level, &Level)> = fixed.levels.iter().zip(&moving.levels).collect();
    let (Some((finest, coarser)), Some(&(coarse_fixed, coarse_moving))) =
        (levels.split_first(), levels.last())
    else {
        return Err(AlignError::Apart { share: 0.0, least: options.least_overlap });
    };
    let coarse = Coarse { fixed: coarse_fixed, moving: coarse_moving, options };
    let best = coarse.settle_or_turn(start);
    let (mut pose, mut iterations) = (best.pose, best.steps);
    for (fixed, moving) in coarser.iter().rev().skip(1) {
        let settled = settle_fine(fixed, moving, &pose, options.most_steps, LAST_STEP[1]);
        pose = settled.pose;
        iterations += settled.steps;
    }
    let (fixed, moving) = finest;
    // A part of the points gets most of the way, at a part of the cost.
    if moving.cloud.points.len() >= EVERY * ANSWERING {
        let settled = settle_fine(fixed, &some_of(moving), &pose, options.most_steps, LAST_STEP[1]);
        pose = settled.pose;
        iterations += settled.steps;
    }
    let last = settle_fine(fixed, moving, &pose, options.most_steps, LAST_STEP[0]);
    Ended {
        response: response(fixed, moving, &last),
        fixed_from_moving: last.pose,
        scatter_mm: scatter_mm(&last.pairs),
        pairs: last.pairs,
        moving_points: moving.cloud.points.len(),
        scale_mm: last.scale_mm,
        voxel_mm: fixed.voxel_mm,
        iterations: iterations + last.steps,
        converged: last.converged,
    }
    .judge(options.least_overlap, options.least_share)
}

/// How a level ended.
pub(super) struct Settled {
    pub(super) pose: Pose,
    pairs: Vec<Pair>,
    scale_mm: f64,
    steps: usize,
    converged: bool,
    /// Share of the moving points that lie within a cell of a fixed surface.
    pub(super) share: f64,
}

/// Scale of the robust weights, mm: four standard deviations, never so small that the cells' own unevenness counts.
fn scale_mm(pairs: &[Pair], voxel_mm: f64) -> f64 {
    (4.0 * scatter_mm(pairs)).max(0.02 * voxel_mm)
}

pub(super) struct Coarse<'a> {
    pub(super) fixed: &'a Level,
    pub(super) moving: &'a Level,
    pub(super) options: &'a SurfaceOptions,
}

impl Coarse<'_> {
    /// From a start; where that does not settle well, from poses turned by 12 degrees each way too: the best end.
    pub(super) fn settle_or_turn(&self, start: &Pose) -> Settled {
        let mut best = self.settle(start);
        if best.share < CONTENT {
            let others: Vec<Settled> =
                turned(start, self.moving).into_par_iter().map(|pose| self.settle(&pose)).collect();
            let tried: usize = others.iter().map(|other| other.steps).sum();
            let steps = best.steps + tried;
            for other in others {
                // A little better is no reason to leave the start that was given.
                if other.share > best.share + 0.02 {
                    best = other;
                }
            }
            best.steps = steps;
        }
        best
    }

    /// From a start far off: the reach shrinks step by step.
    pub(super) fn settle(&self, start: &Pose) -> Settled {
        let Coarse { fixed, moving, options } = self;
        let least_mm = SETTLED_REACH * fixed.voxel_mm;
        let mut reach_mm = options.reach_mm.max(least_mm);
        let mut pose = *start;
        let mut known = vec![Known::NOTHING; moving.cloud.points.len()];
        let (mut steps, mut converged) = (0, false);
        while steps < 2 * options.most_steps && !converged {
            steps += 1;
            let found = pairs(fixed, moving, &pose, reach_mm, &mut known);
            let equations = Equations::of(&found, scale_mm(&found, fixed.voxel_mm));
            let change = equations.change();
            let moved_mm = change.norm();
            pose = equations.movement(&change) * pose;
            converged = reach_mm <= least_mm && moved_mm < LAST_STEP[1] * fixed.voxel_mm;
            // Hardly moving with much reach: what is far away holds it back.
            let shrink = if moved_mm < fixed.voxel_mm { SHRINK * SHRINK } else { SHRINK };
            reach_mm = (reach_mm * shrink).max(least_mm);
        }
        let found = pairs(fixed, moving, &pose, fixed.voxel_mm, &mut known);
        let near = found.iter().filter(|pair| pair.off_mm.abs() < 0.5 * fixed.voxel_mm).count();
        let share = near as f64 / moving.cloud.points.len().max(1) as f64;
        Settled { pose, scale_mm: scale_mm(&found, fixed.voxel_mm), pairs: found, steps, converged, share }
    }
}

/// From where the coarser level settled.
fn settle_fine(fixed: &Level, moving: &Level, start: &Pose, most_steps: usize, last_step: f64) -> Settled {
    let mut pose = *start;
    let mut known = vec![Known::NOTHING; moving.cloud.points.len()];
    let (mut steps, mut converged, mut before) = (0, false, None);
    let mut reach_mm = 2.0 * SETTLED_REACH * fixed.voxel_mm;
    loop {
        let found = pairs(fixed, moving, &pose, reach_mm, &mut known);
        let scale_mm = scale_mm(&found, fixed.voxel_mm);
        if converged || steps >= most_steps {
            return Settled { pose, pairs: found, scale_mm, steps, converged, share: 0.0 };
        }
        let equations = Equations::of(&found, scale_mm);
        let change = equations.change();
        steps += 1;
        converged = steps > 1 && change.norm() < last_step * fixed.voxel_mm;
        // Near the end each step is a share of the one before, for nearest points favour those that err alike: the sum of all
        // steps to come is taken at once, every second time (Aitken).
        let share = before.map_or(0.0, |before: Vector6<f64>| change.dot(&before) / before.norm_squared());
        let ahead = if (0.05..0.9).contains(&share) && !converged { 1.0 / (1.0 - share) } else { 1.0 };
        before = (ahead == 1.0).then_some(change);
        pose = equations.movement(&(change * ahead)) * pose;
        reach_mm = SETTLED_REACH * fixed.voxel_mm;
    }
}

/// How far the scan is moved to see how the pull answers, in cells.
const NUDGE: f64 = 0.1;
/// So many points tell the answer well enough.
const ANSWERING: usize = 10_000;
/// Where there are many more, one of so many is taken.
const EVERY: usize = 4;

/// One of every few points of a level, without neighbours.
fn some_of(level: &Level) -> Level {
    let some: Vec<u32> = (0..level.cloud.points.len() as u32).step_by(EVERY).collect();
    Level { voxel_mm: level.voxel_mm, cloud: level.cloud.select(&some), tree: PointTree::new(&[]) }
}

/// How the pull changes with each (shift, turn) about the middle, by moving the scan a little each way and finding the pairs anew.
///
/// It is less than the normal matrix says: a point finds the neighbour that errs like itself, and far ones weigh less.
fn response(fixed: &Level, moving: &Level, last: &Settled) -> Matrix6<f64> {
    let equations = Equations::of(&last.pairs, last.scale_mm);
    let step_mm = NUDGE * fixed.voxel_mm;
    // A part of the points will do: it is a mean over all.
    let part = (moving.cloud.points.len() >= EVERY * ANSWERING).then(|| some_of(moving));
    let all = moving.cloud.points.len() as f64;
    let moving = part.as_ref().unwrap_or(moving);
    let all_for_one = all / (moving.cloud.points.len().max(1) as f64);
    let mut known = vec![Known::NOTHING; moving.cloud.points.len()];
    let mut pull_at = |change: &Vector6<f64>| {
        let pose = equations.movement(change) * last.pose;
        let found = pairs(fixed, moving, &pose, SETTLED_REACH * fixed.voxel_mm, &mut known);
        pull(&found, last.scale_mm, &equations.about) * all_for_one
    };
    let mut response = Matrix6::zeros();
    for k in 0..6 {
        let change = Vector6::ith(k, step_mm);
        let by = 2.0 * step_mm / if k < 3 { 1.0 } else { equations.size_mm };
        let column = (pull_at(&change) - pull_at(&-change)) / by;
        response.set_column(k, &column);
    }
    response
}

/// The start turned about the middle of the moving scan: each way about each axis, and about the corners of a cube.
fn turned(start: &Pose, moving: &Level) -> Vec<Pose> {
    let count = moving.cloud.points.len().max(1) as f64;
    let middle = moving.cloud.points.iter().map(|p| p.coords).sum::<Vector3<f64>>() / count;
    let middle = start * nalgebra::Point3::from(middle);
    let mut axes: Vec<Vector3<f64>> = Vec::new();
    for k in 0..27 {
        let axis = Vector3::new(f64::from(k % 3 - 1), f64::from(k / 3 % 3 - 1), f64::from(k / 9 - 1));
        if matches!(axis.norm_squared() as i32, 1 | 3) {
            axes.push(axis.normalize());
        }
    }
    let (back, there) = (Translation3::from(-middle.coords), Translation3::from(middle.coords));
    axes.into_iter()
        .map(|axis| there * UnitQuaternion::from_scaled_axis(axis * TURNED_RAD) * back * start)
        .collect()
}
