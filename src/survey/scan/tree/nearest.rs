//! The nearest point, and how much farther off all others are.

use nalgebra::Point3;

use super::build::{PointTree, middle};

/// A point found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Neighbour {
    /// Its number.
    pub index: u32,
    /// Square of its distance, mm^2.
    pub distance_sq: f64,
}

impl Neighbour {
    /// Nearer, or as near with a smaller number.
    pub(super) fn before(&self, distance_sq: f64, index: u32) -> bool {
        self.distance_sq < distance_sq || (self.distance_sq == distance_sq && self.index < index)
    }
}

pub(super) fn distance_sq(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    let [x, y, z] = [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
    x * x + y * y + z * z
}

struct Search<'a> {
    tree: &'a PointTree,
    at: [f64; 3],
    best: Neighbour,
}

impl PointTree {
    /// The point nearest to `at` and no farther than `within_mm`.
    pub fn nearest(&self, at: &Point3<f64>, within_mm: f64) -> Option<Neighbour> {
        let best = Neighbour { index: u32::MAX, distance_sq: within_mm * within_mm };
        let mut search = Search { tree: self, at: (*at).into(), best };
        search.descend(0, self.depth, 0, self.items.len(), [0.0; 3], 0.0);
        (search.best.index != u32::MAX).then_some(search.best)
    }

    /// As [`PointTree::nearest`], with a square of a distance, mm^2, that no other point is nearer than: the second's, or that
    /// of `within_mm`.
    pub(in crate::survey) fn nearest_and_others(
        &self,
        at: &Point3<f64>,
        within_mm: f64,
    ) -> (Option<Neighbour>, f64) {
        let best = Neighbour { index: u32::MAX, distance_sq: within_mm * within_mm };
        let mut search = SearchTwo { tree: self, at: (*at).into(), best, others_sq: best.distance_sq };
        search.descend(0, self.depth, 0, self.items.len(), [0.0; 3], 0.0);
        ((search.best.index != u32::MAX).then_some(search.best), search.others_sq)
    }
}

struct SearchTwo<'a> {
    tree: &'a PointTree,
    at: [f64; 3],
    best: Neighbour,
    others_sq: f64,
}

impl SearchTwo<'_> {
    /// As [`Search::descend`], into all cells nearer than the second.
    fn descend(&mut self, node: usize, depth: u32, low: usize, high: usize, apart: [f64; 3], cell_sq: f64) {
        if depth == 0 {
            for item in &self.tree.items[low..high] {
                let found = Neighbour { index: item.index, distance_sq: distance_sq(&item.at, &self.at) };
                if found.before(self.best.distance_sq, self.best.index) {
                    // The one that was best is now another; the bound itself stays what it was.
                    self.others_sq = self.best.distance_sq;
                    self.best = found;
                } else if found.distance_sq < self.others_sq {
                    self.others_sq = found.distance_sq;
                }
            }
            return;
        }
        let split = self.tree.splits[node];
        let axis = split.axis as usize;
        let beyond = self.at[axis] - split.at;
        let middle = middle(low, high);
        let right = node + (1 << (depth - 1));
        let (near, far) = if beyond < 0.0 {
            ((node + 1, low, middle), (right, middle, high))
        } else {
            ((right, middle, high), (node + 1, low, middle))
        };
        self.descend(near.0, depth - 1, near.1, near.2, apart, cell_sq);
        let far_sq = cell_sq - apart[axis] * apart[axis] + beyond * beyond;
        if far_sq * (1.0 - 1e-12) <= self.others_sq {
            let mut apart = apart;
            apart[axis] = beyond;
            self.descend(far.0, depth - 1, far.1, far.2, apart, far_sq);
        }
    }
}

impl Search<'_> {
    /// `apart` is how far the cell lies from the point along each axis, `cell_sq` the sum of its squares.
    fn descend(&mut self, node: usize, depth: u32, low: usize, high: usize, apart: [f64; 3], cell_sq: f64) {
        if depth == 0 {
            for item in &self.tree.items[low..high] {
                let found = Neighbour { index: item.index, distance_sq: distance_sq(&item.at, &self.at) };
                if found.before(self.best.distance_sq, self.best.index) {
                    self.best = found;
                }
            }
            return;
        }
        let split = self.tree.splits[node];
        let axis = split.axis as usize;
        let beyond = self.at[axis] - split.at;
        let middle = middle(low, high);
        let right = node + (1 << (depth - 1));
        let (near, far) = if beyond < 0.0 {
            ((node + 1, low, middle), (right, middle, high))
        } else {
            ((right, middle, high), (node + 1, low, middle))
        };
        self.descend(near.0, depth - 1, near.1, near.2, apart, cell_sq);
        let far_sq = cell_sq - apart[axis] * apart[axis] + beyond * beyond;
        // Rounding may make the bound a little too great: then a point as near could be passed over.
        if far_sq * (1.0 - 1e-12) <= self.best.distance_sq {
            let mut apart = apart;
            apart[axis] = beyond;
            self.descend(far.0, depth - 1, far.1, far.2, apart, far_sq);
        }
    }
}
