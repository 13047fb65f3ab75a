//! A scan thinned to several sizes, with normals and neighbours on each.

use crate::survey::scan::{NormalOptions, PointCloud, PointTree, ScanError, VoxelGrid, estimate_normals};

/// From each level to the next coarser one.
const COARSER: f64 = 3.0;
/// The coarsest level has at least about so many points.
const COARSE_POINTS: usize = 1200;
/// Levels at most.
const MOST_LEVELS: usize = 5;

/// One size.
#[derive(Clone, Debug)]
pub(super) struct Level {
    /// Edge of a cell, mm.
    pub(super) voxel_mm: f64,
    pub(super) cloud: PointCloud,
    pub(super) tree: PointTree,
}

/// A scan made ready to be aligned: thinned to several sizes, with normals and neighbours on each. Made once, it may be
/// aligned with any number of others.
#[derive(Clone, Debug)]
pub struct ScanLevels {
    /// The finest first.
    pub(super) levels: Vec<Level>,
}

impl ScanLevels {
    /// Thins a scan to cells of `voxel_mm` and to coarser ones. Normals are estimated anew on each level.
    ///
    /// # Errors
    /// [`ScanError`]: too few points for normals, or a point too far off.
    pub fn new(cloud: &PointCloud, voxel_mm: f64) -> Result<Self, ScanError> {
        let bare = |cloud: &PointCloud| PointCloud::new(cloud.points.clone());
        let mut levels: Vec<Level> = Vec::new();
        let mut size_mm = voxel_mm;
        let mut from = bare(cloud);
        while levels.len() < MOST_LEVELS {
            let mut grid = VoxelGrid::new(size_mm)?;
            grid.add(&from)?;
            let mut thin = grid.finish();
            // Coarser cells are filled from the means of finer ones: as good, and fewer.
            from = bare(&thin);
            if !levels.is_empty() && thin.points.len() < COARSE_POINTS {
                break;
            }
            let tree = PointTree::new(&thin.points);
            let options = NormalOptions { neighbours: 12, within_mm: 4.0 * size_mm };
            let found = estimate_normals(&thin.points, &tree, &options)?;
            // Each point goes into the plane of its neighbours. A rough surface on the border of two cells is thinned to two layers,
            // of which a point finds the one that errs like itself: that would hold the search a little off its goal.
            for ((point, normal), above_mm) in thin.points.iter_mut().zip(&found.normals).zip(&found.above_mm)
            {
                *point -= normal * *above_mm;
            }
            thin.normals = found.normals;
            let tree = PointTree::new(&thin.points);
            levels.push(Level { voxel_mm: size_mm, cloud: thin, tree });
            size_mm *= COARSER;
        }
        Ok(ScanLevels { levels })
    }

    /// Points on the finest level.
    pub fn points(&self) -> usize {
        self.levels.first().map_or(0, |level| level.cloud.points.len())
    }
}
