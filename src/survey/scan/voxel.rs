//! Thinning: one point a cell, the mean of all that fell into it.
//!
//! Sums are kept in whole numbers, which add up to the same in any order: the answer depends neither on the
//! number of threads nor on the order of the file.

use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

use super::cell_table::{Cell, CellTable, Placed, SHARDS, shard_of};
use super::{PointCloud, ScanError, ScanSink};

/// Bits of a cell's number along an axis.
const BITS: u32 = 21;
/// Steps of a place within a cell, and of a normal's component, each way.
const STEPS: f64 = (1u32 << 20) as f64;
/// Points of a batch that one task sorts into shards.
const TASK_POINTS: usize = 1 << 16;
/// Points that are gathered before they are sorted into shards.
const BATCH: usize = 1 << 20;

/// Cells of a cubic grid, each with the mean of the points that fell into it: 48 bytes a cell while it fills
/// up, 72 with normals, however many points there are.
///
/// The grid is aligned with the axes and their origin. A mean is exact to a millionth of a cell.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::survey::scan::{PointCloud, VoxelGrid};
/// use nalgebra::Point3;
/// let near = [[1.0, 1.0, 1.0], [1.0, 3.0, 1.0], [11.0, 1.0, 1.0]].map(Point3::from);
/// let mut grid = VoxelGrid::new(10.0).unwrap();
/// grid.add(&PointCloud::new(near.to_vec())).unwrap();
/// let thin = grid.finish();
/// assert_eq!(thin.points.len(), 2);
/// assert!((thin.points[0].y - 2.0).abs() < 1e-5);
/// ```
#[derive(Debug)]
pub struct VoxelGrid {
    voxel_mm: f64,
    shards: Vec<CellTable>,
    /// Cell of the first point: numbers are counted from half their reach before it.
    first: Option<[f64; 3]>,
    normals: bool,
    batch: PointCloud,
    points: u64,
}

impl VoxelGrid {
    /// A grid of cells of this edge, mm.
    ///
    /// # Errors
    /// [`ScanError::BadOption`] when it is not above zero.
    pub fn new(voxel_mm: f64) -> Result<Self, ScanError> {
        ScanError::positive("the edge of a cell", voxel_mm)?;
        let shards = (0..SHARDS).map(|_| CellTable::default()).collect();
        Ok(VoxelGrid {
            voxel_mm,
            shards,
            first: None,
            normals: false,
            batch: PointCloud::default(),
            points: 0,
        })
    }

    /// Points taken so far.
    pub fn points(&self) -> u64 {
        self.points
    }

    /// Cells with points in them so far.
    pub fn cells(&self) -> usize {
        self.shards.iter().map(CellTable::len).sum()
    }

    /// Takes points, and normals where there are any.
    ///
    /// # Errors
    /// [`ScanError::TooFar`]: a point more than a million cells from the first.
    pub fn add(&mut self, cloud: &PointCloud) -> Result<(), ScanError> {
        let Some(start) = cloud.points.first() else { return Ok(()) };
        let edge = self.voxel_mm;
        let half = f64::from(1u32 << (BITS - 1));
        let first =
            *self.first.get_or_insert_with(|| [0, 1, 2].map(|k| (start[k] * (1.0 / edge)).floor() - half));
        let with_normals = cloud.normals.len() == cloud.points.len();
        if with_normals && !self.normals {
            self.normals = true;
            self.shards.iter_mut().for_each(CellTable::keep_normals);
        }
        let tasks: Vec<Sorted> = cloud
            .points
            .par_chunks(TASK_POINTS)
            .enumerate()
            .map(|(task, points)| {
                let normals = if with_normals { &cloud.normals[task * TASK_POINTS..] } else { &[] };
                sorted(points, normals, edge, &first)
            })
            .collect::<Result<_, ScanError>>()?;
        self.shards.par_iter_mut().enumerate().for_each(|(shard, table)| {
            for task in &tasks {
                let range = task.starts[shard] as usize..task.starts[shard + 1] as usize;
                let normals = if with_normals { &task.normals[range.clone()] } else { &[] };
                table.add(&task.points[range], normals);
            }
        });
        self.points += cloud.points.len() as u64;
        Ok(())
    }

    /// The means, in the order of a Z-curve through the cells: near points stand near in the list.
    pub fn finish(self) -> PointCloud {
        let all: Vec<Cell> = self.shards.par_iter().flat_map_iter(CellTable::cells).collect();
        // Counted from the least cell along each axis: where the first point lay must not matter.
        let least = all.iter().fold([u64::MAX; 3], |least, cell| {
            [0, 1, 2].map(|axis: usize| least[axis].min(number(cell.key, axis)))
        });
        let mut cells: Vec<(u64, Cell)> =
            all.into_par_iter().map(|cell| (interleaved(cell.key, &least), cell)).collect();
        cells.par_sort_unstable_by_key(|(order, _)| *order);
        let first = self.first.unwrap_or_default();
        let mean = |(_, cell): &(u64, Cell)| {
            let count = f64::from(cell.count) * STEPS;
            let along = |axis: usize| {
                (first[axis] + number(cell.key, axis) as f64 + cell.place[axis] as f64 / count)
                    * self.voxel_mm
            };
            Point3::new(along(0), along(1), along(2))
        };
        let normal = |(_, cell): &(u64, Cell)| {
            Vector3::from(cell.normal.map(|sum| sum as f64)).try_normalize(0.5).unwrap_or_else(Vector3::zeros)
        };
        let points = cells.par_iter().map(mean).collect();
        let normals = if self.normals { cells.par_iter().map(normal).collect() } else { Vec::new() };
        PointCloud { points, normals }
    }
}

/// Points of a task in the order of their shards.
struct Sorted {
    /// Where each shard starts, and the end.
    starts: Vec<u32>,
    points: Vec<Placed>,
    normals: Vec<[i64; 3]>,
}

fn sorted(
    points: &[Point3<f64>],
    normals: &[Vector3<f64>],
    edge: f64,
    first: &[f64; 3],
) -> Result<Sorted, ScanError> {
    let inverse = 1.0 / edge;
    let placed: Vec<Placed> = points
        .iter()
        .map(|point| {
            placed(point, inverse, first).ok_or(ScanError::TooFar {
                at: (*point).into(),
                reach_mm: f64::from(1u32 << (BITS - 1)) * edge,
                voxel_mm: edge,
            })
        })
        .collect::<Result<_, ScanError>>()?;
    let mut starts = vec![0u32; SHARDS + 1];
    for own in &placed {
        starts[shard_of(own.key) + 1] += 1;
    }
    for shard in 0..SHARDS {
        starts[shard + 1] += starts[shard];
    }
    let mut next = starts.clone();
    let mut in_order = vec![Placed::default(); placed.len()];
    let mut facing = vec![[0; 3]; normals.len().min(placed.len())];
    for (k, own) in placed.iter().enumerate() {
        let at = &mut next[shard_of(own.key)];
        in_order[*at as usize] = *own;
        if let Some(normal) = normals.get(k) {
            facing[*at as usize] = [0, 1, 2].map(|axis| (normal[axis] * STEPS).round() as i64);
        }
        *at += 1;
    }
    Ok(Sorted { starts, points: in_order, normals: facing })
}

fn placed(point: &Point3<f64>, inverse: f64, first: &[f64; 3]) -> Option<Placed> {
    let (mut key, mut within) = (0, 0);
    for axis in 0..3 {
        let scaled = point[axis] * inverse;
        let whole = scaled.floor();
        let number = whole - first[axis];
        if !(0.0..f64::from(1u32 << BITS)).contains(&number) {
            return None;
        }
        key |= (number as u64) << (BITS * axis as u32);
        within |= (((scaled - whole) * STEPS) as u64) << (BITS * axis as u32);
    }
    Some(Placed { key, within })
}

/// A cell's number along an axis.
fn number(key: u64, axis: usize) -> u64 {
    (key >> (BITS * axis as u32)) & ((1 << BITS) - 1)
}

/// The bits of the three numbers, less the least of each, in turn.
fn interleaved(key: u64, least: &[u64; 3]) -> u64 {
    let spread = |axis: usize| {
        let mut x = number(key, axis) - least[axis];
        for (shift, mask) in [
            (32, 0x001f_0000_0000_ffff),
            (16, 0x001f_0000_ff00_00ff),
            (8, 0x100f_00f0_0f00_f00f),
            (4, 0x10c3_0c30_c30c_30c3),
            (2, 0x1249_2492_4924_9249),
        ] {
            x = (x | (x << shift)) & mask;
        }
        x
    };
    spread(0) | (spread(1) << 1) | (spread(2) << 2)
}

impl ScanSink for VoxelGrid {
    fn buffer(&mut self) -> &mut PointCloud {
        &mut self.batch
    }

    fn taken(&mut self) -> Result<(), ScanError> {
        if self.batch.points.len() < BATCH {
            return Ok(());
        }
        self.ended()
    }

    fn ended(&mut self) -> Result<(), ScanError> {
        let mut batch = std::mem::take(&mut self.batch);
        self.add(&batch)?;
        batch.points.clear();
        batch.normals.clear();
        self.batch = batch;
        Ok(())
    }
}
