//! The k nearest points.

use nalgebra::Point3;

use super::build::{PointTree, middle};
use super::nearest::{Neighbour, distance_sq};

struct Search<'a> {
    tree: &'a PointTree,
    at: [f64; 3],
    wanted: usize,
    within_sq: f64,
    /// Nearest first.
    found: &'a mut Vec<Neighbour>,
}

impl PointTree {
    /// The `count` points nearest to `at` and no farther than `within_mm`, nearest first, in `found`.
    pub fn several(&self, at: &Point3<f64>, count: usize, within_mm: f64, found: &mut Vec<Neighbour>) {
        found.clear();
        if count == 0 {
            return;
        }
        let within_sq = within_mm * within_mm;
        let mut search = Search { tree: self, at: (*at).into(), wanted: count, within_sq, found };
        search.descend(0, self.depth, 0, self.items.len(), [0.0; 3], 0.0);
    }
}

/// The k nearest of points that are asked about one after the other, each near the last: what was found there bounds how far
/// to look here.
pub(in crate::survey::scan) struct Following<'a> {
    tree: &'a PointTree,
    count: usize,
    within_mm: f64,
    /// The last point, and how far its farthest neighbour was; none when it had fewer.
    last: Option<(Point3<f64>, f64)>,
    pub(in crate::survey::scan) found: Vec<Neighbour>,
}

impl<'a> Following<'a> {
    pub(in crate::survey::scan) fn new(tree: &'a PointTree, count: usize, within_mm: f64) -> Self {
        Following { tree, count, within_mm, last: None, found: Vec::with_capacity(count + 1) }
    }

    /// As [`PointTree::several`], nearest first, in `found`.
    pub(in crate::survey::scan) fn ask(&mut self, at: &Point3<f64>) {
        let Following { tree, count, within_mm, last, found } = self;
        // The neighbours of the last point are no farther from here than from there and the way between.
        let bound = last.map_or(f64::INFINITY, |(there, reach)| (reach + (at - there).norm()) * (1.0 + 1e-9));
        tree.several(at, *count, within_mm.min(bound), found);
        *last = match found.last() {
            Some(farthest) if found.len() == *count => Some((*at, farthest.distance_sq.sqrt())),
            _ => None,
        };
    }
}

impl Search<'_> {
    fn limit_sq(&self) -> f64 {
        match self.found.last() {
            Some(last) if self.found.len() == self.wanted => last.distance_sq,
            _ => self.within_sq,
        }
    }

    fn take(&mut self, new: Neighbour) {
        if self.found.len() == self.wanted {
            match self.found.last() {
                Some(last) if new.before(last.distance_sq, last.index) => self.found.pop(),
                _ => return,
            };
        }
        let mut at = self.found.len();
        self.found.push(new);
        while at > 0 && new.before(self.found[at - 1].distance_sq, self.found[at - 1].index) {
            self.found[at] = self.found[at - 1];
            at -= 1;
        }
        self.found[at] = new;
    }

    fn descend(&mut self, node: usize, depth: u32, low: usize, high: usize, apart: [f64; 3], cell_sq: f64) {
        if depth == 0 {
            let tree = self.tree;
            let mut limit_sq = self.limit_sq();
            for item in &tree.items[low..high] {
                let found = distance_sq(&item.at, &self.at);
                if found <= limit_sq {
                    self.take(Neighbour { index: item.index, distance_sq: found });
                    limit_sq = self.limit_sq();
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
        if far_sq * (1.0 - 1e-12) <= self.limit_sq() {
            let mut apart = apart;
            apart[axis] = beyond;
            self.descend(far.0, depth - 1, far.1, far.2, apart, far_sq);
        }
    }
}
