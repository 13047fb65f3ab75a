//! Boxes that fill the bay: an octree over a grid of near-cubes.

use nalgebra::{Point3, Vector3};

use crate::access::Near;
use crate::space::Bounds;

use super::bound::{self, greatest_clearance};
use super::field::{Field, Spot};

const NONE: u32 = u32::MAX;
/// Boxes along the bay's longest edge before any is split.
const FIRST_BOXES: f64 = 8.0;

/// A box of the bay.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    level: u8,
    at: [u32; 3],
    first_child: u32,
    /// Which witnesses it shares with the boxes that were made with it.
    family: u32,
    /// Greatest clearance anywhere in it, mm; infinite when not known to be under the field's limit.
    pub upper_mm: f64,
    /// The best place known in it.
    pub best: Spot,
    /// Whether the best place was looked for beyond the centre.
    pub climbed: bool,
}

/// All boxes, split and whole.
pub(super) struct Tree {
    origin: Point3<f64>,
    edge: Vector3<f64>,
    counts: [u32; 3],
    pub cells: Vec<Cell>,
    families: Vec<Vec<Near>>,
}

impl Tree {
    /// A grid over the bay, each box looked at once.
    pub fn new(bay: &Bounds, field: &mut Field<'_>) -> Self {
        let size = bay.size();
        let near_edge = size.max() / FIRST_BOXES;
        let counts = [0, 1, 2].map(|axis: usize| (size[axis] / near_edge).round().max(1.0) as u32);
        let edge = Vector3::from_fn(|axis, _| size[axis] / f64::from(counts[axis]));
        let mut tree = Tree { origin: bay.min, edge, counts, cells: Vec::new(), families: Vec::new() };
        for z in 0..counts[2] {
            for y in 0..counts[1] {
                for x in 0..counts[0] {
                    let pool = Vec::new();
                    tree.add(&[(0, [x, y, z])], pool, field);
                }
            }
        }
        tree
    }

    /// Half edge lengths of a box.
    pub fn half(&self, cell: u32) -> Vector3<f64> {
        self.edge * (0.5 / f64::from(1_u32 << self.cells[cell as usize].level))
    }

    /// The box itself.
    pub fn bounds(&self, cell: u32) -> Bounds {
        let (half, at) = (self.half(cell), self.cells[cell as usize].at);
        let min = Point3::from(Vector3::from_fn(|axis, _| {
            self.origin[axis] + 2.0 * half[axis] * f64::from(at[axis])
        }));
        Bounds { min, max: min + half * 2.0 }
    }

    /// Points of obstacles that are near a box.
    pub fn witnesses(&self, cell: u32) -> &[Near] {
        &self.families[self.cells[cell as usize].family as usize]
    }

    pub fn is_leaf(&self, cell: u32) -> bool {
        self.cells[cell as usize].first_child == NONE
    }

    /// Appends the whole boxes within a distance of a place.
    pub fn within(&self, at: &Point3<f64>, distance_mm: f64, into: &mut Vec<u32>) {
        for root in 0..self.counts.iter().product() {
            self.whole_within(root, at, distance_mm, into);
        }
    }

    fn whole_within(&self, cell: u32, at: &Point3<f64>, distance_mm: f64, into: &mut Vec<u32>) {
        if self.bounds(cell).distance_mm(at) > distance_mm {
            return;
        }
        if self.is_leaf(cell) {
            into.push(cell);
            return;
        }
        let first = self.cells[cell as usize].first_child;
        for child in first..first + 8 {
            self.whole_within(child, at, distance_mm, into);
        }
    }

    /// Every box that is not split.
    #[cfg(test)]
    pub fn leaves(&self) -> impl Iterator<Item = u32> + '_ {
        (0..self.cells.len() as u32).filter(|cell| self.is_leaf(*cell))
    }

    /// Splits a box in eight and looks at each.
    pub fn split(&mut self, cell: u32, field: &mut Field<'_>) {
        let Cell { level, at, family, .. } = self.cells[cell as usize];
        let children: [(u8, [u32; 3]); 8] = std::array::from_fn(|i| {
            (level + 1, [0, 1, 2].map(|axis| 2 * at[axis] + ((i as u32) >> axis & 1)))
        });
        self.cells[cell as usize].first_child = self.cells.len() as u32;
        let mut pool = self.families[family as usize].clone();
        let center = self.bounds(cell).center();
        let reach = self.cells[cell as usize].best.clear_mm.max(0.0) + 3.0 * self.half(cell).norm();
        pool.retain(|near| near.at_most_mm(&center) <= reach);
        self.add(&children, pool, field);
    }

    fn add(&mut self, new: &[(u8, [u32; 3])], mut pool: Vec<Near>, field: &mut Field<'_>) {
        let first = self.cells.len() as u32;
        let family = self.families.len() as u32;
        self.families.push(Vec::new());
        let mut all = Bounds::EMPTY;
        for &(level, at) in new {
            let blank = Spot { at: Point3::origin(), clear_mm: 0.0 };
            let cell =
                Cell { level, at, first_child: NONE, family, upper_mm: 0.0, best: blank, climbed: false };
            self.cells.push(cell);
            let id = self.cells.len() as u32 - 1;
            let (bounds, radius) = (self.bounds(id), self.half(id).norm());
            let center = bounds.center();
            let clear_mm = field.look(&center, radius);
            pool.extend_from_slice(&field.seen);
            all = all.union(&bounds);
            let cell = &mut self.cells[id as usize];
            cell.best = Spot { at: center, clear_mm };
            cell.upper_mm = if clear_mm < field.limit_mm { clear_mm + radius } else { f64::INFINITY };
        }
        let center = all.center();
        let key = |near: &Near| near.at_most_mm(&center);
        pool.sort_by(|a, b| key(a).total_cmp(&key(b)));
        pool.dedup_by(|a, b| (a.point - b.point).norm_squared() < 1e-12);
        pool.truncate(bound::MOST);
        self.families[family as usize] = pool;
        let opened = field.obstacles.opened();
        for id in first..self.cells.len() as u32 {
            let bounds = self.bounds(id);
            let pool = &self.families[family as usize];
            let refs: Vec<&Near> = pool
                .iter()
                .filter(|near| match opened {
                    Some((body, center, radius_mm)) => {
                        near.body != body || bounds.distance_mm(&center) >= radius_mm
                    }
                    None => true,
                })
                .collect();
            let bound = greatest_clearance(&bounds.corners(), &refs).max(0.0);
            let cell = &mut self.cells[id as usize];
            cell.upper_mm = cell.upper_mm.min(bound);
        }
    }

    /// Whether a box lies at the bay's side across an axis.
    pub fn at_side(&self, cell: u32, axis: usize, at_max: bool) -> bool {
        let Cell { level, at, .. } = self.cells[cell as usize];
        at[axis] == if at_max { (self.counts[axis] << level) - 1 } else { 0 }
    }

    /// Appends the whole boxes that share a side with `cell`.
    pub fn neighbours(&self, cell: u32, into: &mut Vec<u32>) {
        let Cell { level, at, .. } = self.cells[cell as usize];
        for axis in 0..3 {
            for at_max in [false, true] {
                if self.at_side(cell, axis, at_max) {
                    continue;
                }
                let mut there = at;
                there[axis] = if at_max { there[axis] + 1 } else { there[axis] - 1 };
                self.facing(level, there, axis, !at_max, into);
            }
        }
    }

    /// The whole boxes in or round the box of a level and place that touch its side (`axis`, `at_max`).
    fn facing(&self, level: u8, at: [u32; 3], axis: usize, at_max: bool, into: &mut Vec<u32>) {
        let root = [0, 1, 2].map(|axis: usize| at[axis] >> level);
        let mut cell = root[0] + self.counts[0] * (root[1] + self.counts[1] * root[2]);
        for depth in (0..level).rev() {
            if self.is_leaf(cell) {
                break;
            }
            let child = (0..3).fold(0, |child, axis| child | ((at[axis] >> depth) & 1) << axis);
            cell = self.cells[cell as usize].first_child + child;
        }
        self.whole_at_side(cell, axis, at_max, into);
    }

    fn whole_at_side(&self, cell: u32, axis: usize, at_max: bool, into: &mut Vec<u32>) {
        if self.is_leaf(cell) {
            into.push(cell);
            return;
        }
        let first = self.cells[cell as usize].first_child;
        for child in 0..8 {
            if ((child >> axis) & 1 == 1) == at_max {
                self.whole_at_side(first + child, axis, at_max, into);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::access::{Analytic, Obstacles, Part};

    #[test]
    fn neighbours_are_mutual_and_bounds_hold() {
        let world = Analytic::new()
            .with("ball", Part::Ball { center: Point3::new(30.0, 40.0, 20.0), radius_mm: 15.0 });
        let mut field = Field::new(&world, 500.0);
        let bay = Bounds { min: Point3::origin(), max: Point3::new(100.0, 80.0, 50.0) };
        let mut tree = Tree::new(&bay, &mut field);
        for round in 0..60 {
            let leaves: Vec<u32> = tree.leaves().collect();
            tree.split(leaves[(round * 7919) % leaves.len()], &mut field);
        }
        let mut volume = 0.0;
        for cell in tree.leaves().collect::<Vec<_>>() {
            let bounds = tree.bounds(cell);
            volume += bounds.size().product();
            let mut near = Vec::new();
            tree.neighbours(cell, &mut near);
            for other in near {
                let mut back = Vec::new();
                tree.neighbours(other, &mut back);
                assert!(back.contains(&cell));
                assert!(bounds.gap_mm(&tree.bounds(other)) < 1e-9);
            }
            for i in 0..64 {
                let share = Vector3::new(f64::from(i & 3), f64::from(i >> 2 & 3), f64::from(i >> 4)) / 3.0;
                let at = bounds.min + bounds.size().component_mul(&share);
                assert!(world.clearance_mm(&at) <= tree.cells[cell as usize].upper_mm + 1e-9);
            }
        }
        assert!((volume - 100.0 * 80.0 * 50.0).abs() < 1e-6, "the boxes fill the bay: {volume}");
    }
}
