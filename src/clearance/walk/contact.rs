//! Whether two solids meet, and no more: no distance is asked of any pair of boxes.

use super::super::convex::{Nearest, triangles_within};
use super::super::index::{Index, Slice};
use super::super::tree::boxes_overlap;
use super::pair::{Brood, Leaves, Pair, Under};
use crate::space::Pose;

/// Whether any items of two solids are within `limit_mm` (small: boxes are not told apart by it).
pub(crate) fn meeting(a: &Index, b: &Index, a_from_b: &Pose, limit_mm: f64) -> bool {
    meeting_again(a, b, a_from_b, limit_mm, &mut LastMet::default())
}

/// Where two solids met when last asked: the place to look at first after a small move.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct LastMet(Option<Leaves>);

impl LastMet {
    /// The nearest points of the items that met, as they stand now: all else left out of account.
    pub fn nearest(&self, a: &Index, b: &Index, a_from_b: &Pose) -> Option<Nearest> {
        Pair::new(a, b, a_from_b).leaf(self.0?, f64::INFINITY, None).map(|found| found.nearest)
    }
}

/// As [`meeting`], asked again and again: looks first where the two met last, and remembers where they meet.
pub(crate) fn meeting_again(
    a: &Index,
    b: &Index,
    a_from_b: &Pose,
    limit_mm: f64,
    last: &mut LastMet,
) -> bool {
    if a.tree.nodes.is_empty() || b.tree.nodes.is_empty() {
        return false;
    }
    let pair = Pair::new(a, b, a_from_b);
    if last.0.is_some_and(|leaves| pair.within(leaves, limit_mm)) {
        return true;
    }
    let mut stack = Vec::with_capacity(64);
    stack.push(pair.top());
    let limit = limit_mm as f32;
    while let Some(open) = stack.pop() {
        let mut brood = Brood::new();
        let bounds = |one: &_, frame: &_, four: &_, slack: f32| boxes_overlap(one, frame, four, slack, limit);
        let under = pair.open_with(&open, bounds, |mut child| {
            if child.key <= limit {
                // The deepest overlap for its size first, and of those that hold each other the smaller.
                child.key /= child.size_a.min(child.size_b);
                brood.add(child);
            }
        });
        match under {
            Under::Leaves(leaves) if pair.within(leaves, limit_mm) => {
                last.0 = Some(leaves);
                return true;
            }
            Under::Leaves(_) => {}
            Under::Boxes => stack.extend_from_slice(brood.pairs()),
        }
    }
    false
}

impl Pair<'_> {
    /// Whether any items of two leaves are within a limit; how deep they meet is not asked.
    #[inline]
    fn within(&self, leaves: Leaves, limit_mm: f64) -> bool {
        let ((start_a, count_a), (start_b, count_b)) = leaves;
        match (self.a.store.slice(start_a, count_a), self.b.store.slice(start_b, count_b)) {
            (Slice::Triangles(ones), Slice::Triangles(twos)) => twos.iter().any(|two| {
                let two = [self.moved(&two[0]), self.moved(&two[1]), self.moved(&two[2])];
                ones.iter().any(|one| triangles_within(one, &two, limit_mm))
            }),
            _ => self.leaf(leaves, limit_mm, None).is_some(),
        }
    }
}
