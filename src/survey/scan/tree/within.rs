//! All points in a ball.

use nalgebra::Point3;

use super::build::{PointTree, middle};
use super::nearest::distance_sq;

impl PointTree {
    /// Numbers of all points no farther from `at` than `radius_mm`, in no order of distance but always the
    /// same, in `found`; no more than `most` of them.
    pub fn within(&self, at: &Point3<f64>, radius_mm: f64, most: usize, found: &mut Vec<u32>) {
        found.clear();
        let at: [f64; 3] = (*at).into();
        self.gather(0, self.depth, (0, self.items.len()), &at, radius_mm, most, found);
    }

    #[allow(clippy::too_many_arguments)]
    fn gather(
        &self,
        node: usize,
        depth: u32,
        (low, high): (usize, usize),
        at: &[f64; 3],
        radius_mm: f64,
        most: usize,
        found: &mut Vec<u32>,
    ) {
        if depth == 0 {
            for item in &self.items[low..high] {
                if found.len() < most && distance_sq(&item.at, at) <= radius_mm * radius_mm {
                    found.push(item.index);
                }
            }
            return;
        }
        let split = self.splits[node];
        let beyond = at[split.axis as usize] - split.at;
        let middle = middle(low, high);
        if beyond <= radius_mm {
            self.gather(node + 1, depth - 1, (low, middle), at, radius_mm, most, found);
        }
        if beyond >= -radius_mm && found.len() < most {
            let right = node + (1 << (depth - 1));
            self.gather(right, depth - 1, (middle, high), at, radius_mm, most, found);
        }
    }
}
