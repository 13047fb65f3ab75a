//! The tree: points in the order of its leaves, and where they were split.

use nalgebra::Point3;

/// Points that a leaf holds at most.
const LEAF: usize = 12;
/// Points from which on the halves are built by two threads.
const TASK: usize = 1 << 14;

/// A split: everything left of it has no greater coordinate along the axis, everything right of it no smaller.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Split {
    pub(super) at: f64,
    pub(super) axis: u32,
}

/// A point with its number.
#[derive(Clone, Copy, Debug)]
pub(super) struct Item {
    pub(super) at: [f64; 3],
    pub(super) index: u32,
}

/// Points among which neighbours are found. Same points, same answers, whatever the number of threads.
///
/// Building takes O(n log^2 n), a question O(log n) for points spread over surfaces; 40 bytes a point.
#[derive(Clone, Debug)]
pub struct PointTree {
    pub(super) items: Vec<Item>,
    /// In the order of a descent: a node, its left half, its right half. All leaves are equally deep.
    pub(super) splits: Vec<Split>,
    pub(super) depth: u32,
}

impl PointTree {
    /// A tree over points, which must be finite and fewer than 2^32.
    pub fn new(points: &[Point3<f64>]) -> Self {
        let mut items: Vec<Item> =
            points.iter().zip(0..).map(|(point, index)| Item { at: (*point).into(), index }).collect();
        let mut depth = 0;
        while items.len() > LEAF << depth {
            depth += 1;
        }
        let mut splits = vec![Split::default(); (1 << depth) - 1];
        build(&mut items, &mut splits);
        PointTree { items, splits, depth }
    }

    /// Points.
    pub fn len(&self) -> usize {
        self.items.len()
    }

    /// Whether there is no point.
    pub fn is_empty(&self) -> bool {
        self.items.is_empty()
    }

    /// Numbers of the points in the order in which they lie in the tree: near ones near each other.
    pub fn order(&self) -> impl Iterator<Item = u32> + '_ {
        self.items.iter().map(|item| item.index)
    }
}

/// Where a range of items is parted.
pub(super) fn middle(low: usize, high: usize) -> usize {
    low + (high - low) / 2
}

fn build(items: &mut [Item], splits: &mut [Split]) {
    let Some((here, below)) = splits.split_first_mut() else { return };
    let axis = widest(items);
    let middle = middle(0, items.len());
    // Places that are equal are told apart by number, so that the halves are the same sets each time.
    items.select_nth_unstable_by(middle, |a, b| {
        a.at[axis].total_cmp(&b.at[axis]).then_with(|| a.index.cmp(&b.index))
    });
    *here = Split { at: items[middle].at[axis], axis: axis as u32 };
    let (left, right) = items.split_at_mut(middle);
    let (left_splits, right_splits) = below.split_at_mut(below.len() / 2);
    if left.len() < TASK {
        build(left, left_splits);
        build(right, right_splits);
    } else {
        rayon::join(|| build(left, left_splits), || build(right, right_splits));
    }
}

fn widest(items: &[Item]) -> usize {
    let (mut least, mut most) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
    for item in items {
        for axis in 0..3 {
            least[axis] = least[axis].min(item.at[axis]);
            most[axis] = most[axis].max(item.at[axis]);
        }
    }
    let width = [0, 1, 2].map(|axis| most[axis] - least[axis]);
    if width[0] >= width[1] && width[0] >= width[2] {
        0
    } else if width[1] >= width[2] {
        1
    } else {
        2
    }
}
