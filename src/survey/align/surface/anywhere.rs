//! One scan brought onto another when nothing is known of the start: many turns tried coarsely, the best followed.

use nalgebra::{Point3, Quaternion, Translation3, UnitQuaternion, Vector3};
use rayon::prelude::*;

use super::super::AlignError;
use super::fit::SurfaceFit;
use super::levels::{Level, ScanLevels};
use super::options::SurfaceOptions;
use super::search::{Coarse, Settled, align_surfaces};
use crate::space::Pose;
use crate::survey::scan::PointTree;

/// Turns that [`align_surfaces_anywhere`] tries.
pub const TURNS: usize = 120;
/// Moving points that are enough to tell a hopeful turn from others.
const ENOUGH: usize = 600;
/// Ends that are gone into with turns about them.
const HOPEFUL: usize = 8;
/// Ends that are followed to the finest level.
const FOLLOWED: usize = 3;
/// Ends whose overlap differs by less are told apart by their scatter.
const ALIKE: f64 = 0.01;

/// Brings a moving scan onto a fixed one from anywhere: middle on middle, turned every way, brought together on the coarsest
/// level; the best ends followed from coarse to fine as [`align_surfaces`] does. The best fit comes first, then those that ended
/// in other places: one that overlaps nearly as well is a warning. The same answer whatever the number of threads.
///
/// It is a search without a promise: a scan that looks alike from two sides, or whose middle lies far from that of the other, can
/// end in the wrong place.
///
/// # Errors
/// As [`align_surfaces`], of the end that looked best.
pub fn align_surfaces_anywhere(
    fixed: &ScanLevels,
    moving: &ScanLevels,
    options: &SurfaceOptions,
) -> Result<Vec<SurfaceFit>, AlignError> {
    options.check()?;
    let Some((on, of)) = fixed.levels.iter().zip(&moving.levels).next_back() else {
        return Err(AlignError::Apart { share: 0.0, least: options.least_overlap });
    };
    let some = some_of(of);
    let coarse = Coarse { fixed: on, moving: &some, options };
    let (from, to) = (middle(of), middle(on));
    let same = |a: &Pose, b: &Pose| {
        (a * from - b * from).norm() <= 3.0 * on.voxel_mm && a.rotation.angle_to(&b.rotation) <= 0.1
    };
    let distinct = |mut ends: Vec<Settled>, most: usize| -> Vec<Pose> {
        // A stable order: of equal ones the first turn tried.
        ends.sort_by(|a, b| b.share.total_cmp(&a.share));
        let mut kept: Vec<Pose> = Vec::new();
        for end in ends {
            if kept.len() < most && !kept.iter().any(|known| same(known, &end.pose)) {
                kept.push(end.pose);
            }
        }
        kept
    };
    let ends = (0..TURNS).into_par_iter().map(|k| {
        let start = Translation3::from(to.coords) * turn(k) * Translation3::from(-from.coords);
        coarse.settle(&start)
    });
    let hopeful = distinct(ends.collect(), HOPEFUL);
    let followed = distinct(hopeful.iter().map(|pose| coarse.settle_or_turn(pose)).collect(), FOLLOWED);
    let mut fits: Vec<SurfaceFit> = Vec::new();
    let mut why = None;
    for pose in &followed {
        match align_surfaces(fixed, moving, pose, options) {
            Ok(fit) => {
                match fits.iter_mut().find(|known| same(known.fixed_from_moving(), fit.fixed_from_moving())) {
                    Some(known) if better(&fit, known) => *known = fit,
                    Some(_) => {}
                    None => fits.push(fit),
                }
            }
            Err(error) => {
                why.get_or_insert(error);
            }
        }
    }
    let best = (0..fits.len()).reduce(|best, k| if better(&fits[k], &fits[best]) { k } else { best });
    match best {
        Some(best) => {
            fits.swap(0, best);
            Ok(fits)
        }
        None => Err(why.unwrap_or(AlignError::Apart { share: 0.0, least: options.least_overlap })),
    }
}

fn better(one: &SurfaceFit, than: &SurfaceFit) -> bool {
    one.overlap > than.overlap + ALIKE
        || (one.overlap - than.overlap).abs() <= ALIKE && one.scatter_mm < than.scatter_mm
}

fn middle(level: &Level) -> Point3<f64> {
    let count = level.cloud.points.len().max(1) as f64;
    Point3::from(level.cloud.points.iter().map(|p| p.coords).sum::<Vector3<f64>>() / count)
}

/// About [`ENOUGH`] points of a level, evenly along its list.
fn some_of(level: &Level) -> Level {
    let count = level.cloud.points.len();
    let some: Vec<u32> = (0..count as u32).step_by((count / ENOUGH).max(1)).collect();
    Level { voxel_mm: level.voxel_mm, cloud: level.cloud.select(&some), tree: PointTree::new(&[]) }
}

/// One of [`TURNS`] turns spread evenly: a spiral on the sphere of unit quaternions (Alexa, CVPR 2022; constants from memory).
fn turn(k: usize) -> UnitQuaternion<f64> {
    const PSI: f64 = 1.533_751_168_755_204_3;
    let s = k as f64 + 0.5;
    let (low, high) = ((s / TURNS as f64).sqrt(), (1.0 - s / TURNS as f64).sqrt());
    let (alpha, beta) =
        (std::f64::consts::TAU * s / std::f64::consts::SQRT_2, std::f64::consts::TAU * s / PSI);
    UnitQuaternion::from_quaternion(Quaternion::new(
        high * beta.cos(),
        low * alpha.sin(),
        low * alpha.cos(),
        high * beta.sin(),
    ))
}
