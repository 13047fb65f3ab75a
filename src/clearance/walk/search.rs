//! The least gap between two solids.
//!
//! A few pairs of each level are followed straight down for a first guess. Then all the rest are walked through,
//! the nearer of a brood first; what is not nearer than the best gap found is put aside. The walk needs no
//! queue: with a good guess to start from, the order hardly matters, and a stack costs next to nothing.

use super::super::index::Index;
use super::front::Keep;
use super::leaf::Facing;
use super::pair::{Brood, Open, Pair, Under};
use super::{Found, Outcome};
use crate::space::Pose;

/// How many pairs of a level the first guess follows.
const ABREAST: usize = 4;

/// The least gap under `limit_mm` between two solids; both in `a`'s frame.
pub(crate) fn least_gap(a: &Index, b: &Index, a_from_b: &Pose, limit_mm: f64) -> Outcome {
    if a.tree.nodes.is_empty() || b.tree.nodes.is_empty() {
        return Outcome::Beyond { at_least_mm: f64::INFINITY };
    }
    Pair::new(a, b, a_from_b).search(limit_mm, &mut Forget)
}

/// Nothing is kept.
struct Forget;

impl Keep for Forget {
    #[inline]
    fn aside(&mut self, _: &Open) {}
    #[inline]
    fn nearest(&mut self, _: super::pair::Leaves) {}
    #[inline]
    fn opened(&mut self) {}
}

impl Pair<'_> {
    /// The least gap found so far, as a direction to tell items apart by.
    #[inline]
    pub(super) fn facing(&self, found: &Found) -> Option<Facing> {
        (found.nearest.gap_mm > 0.0).then(|| Facing::new(self, found.nearest.normal))
    }

    /// Goes straight down with the few nearest pairs of each level: a gap to start from.
    fn first_guess(&self, limit_mm: f64, keep: &mut impl Keep) -> Option<Found> {
        let mut best: Option<Found> = None;
        let mut limit = limit_mm;
        let mut level = Vec::with_capacity(4 * ABREAST);
        level.push(self.top());
        let mut next = Vec::with_capacity(4 * ABREAST);
        while !level.is_empty() {
            for open in &level {
                if f64::from(open.key) < limit
                    && let Under::Leaves(leaves) = self.open(open, |child| next.push(child))
                    && let Some(found) = self.leaf(leaves, limit, None)
                {
                    limit = found.nearest.gap_mm;
                    best = Some(found);
                    keep.nearest(leaves);
                    if limit <= 0.0 {
                        return best;
                    }
                }
            }
            next.sort_unstable_by(|p: &Open, q| {
                guess_key(p).total_cmp(&guess_key(q)).then((p.a, p.b).cmp(&(q.a, q.b)))
            });
            next.truncate(ABREAST);
            std::mem::swap(&mut level, &mut next);
            next.clear();
        }
        best
    }

    pub(super) fn search(&self, limit_mm: f64, keep: &mut impl Keep) -> Outcome {
        let mut best = self.first_guess(limit_mm, keep);
        let mut limit = match &best {
            Some(found) if found.nearest.gap_mm <= 0.0 => return Outcome::Meeting(*found),
            Some(found) => found.nearest.gap_mm,
            None => limit_mm,
        };
        let mut facing = best.as_ref().and_then(|found| self.facing(found));
        let mut stack = Vec::with_capacity(128);
        stack.push(self.top());
        // Least bound among pairs put aside: what is certain when nothing is found.
        let mut dropped = f32::INFINITY;
        let mut refused = false;
        while let Some(open) = stack.pop() {
            if f64::from(open.key) >= limit {
                dropped = dropped.min(open.key);
                keep.aside(&open);
                continue;
            }
            keep.opened();
            let mut brood = Brood::new();
            let under = self.open(&open, |child| {
                if f64::from(child.key) < limit {
                    brood.add(child);
                } else {
                    dropped = dropped.min(child.key);
                    keep.aside(&child);
                }
            });
            let Under::Leaves(leaves) = under else {
                stack.extend_from_slice(brood.pairs());
                continue;
            };
            match self.leaf(leaves, limit, facing.as_ref()) {
                Some(found) if found.nearest.gap_mm <= 0.0 => return Outcome::Meeting(found),
                Some(found) => {
                    limit = found.nearest.gap_mm;
                    best = Some(found);
                    facing = self.facing(&found);
                    keep.nearest(leaves);
                }
                // Looked at and not under the limit: no more than that is known of these pieces.
                None => refused = true,
            }
            keep.aside(&open);
        }
        match best {
            Some(found) => Outcome::Apart(found),
            None if refused => Outcome::Beyond { at_least_mm: limit },
            None => Outcome::Beyond { at_least_mm: f64::from(dropped).max(limit) },
        }
    }
}

/// Among meeting boxes of a size the more deeply overlapping first.
#[inline]
fn guess_key(open: &Open) -> f32 {
    let size = open.size_a.max(open.size_b);
    if open.key > 0.0 { open.key } else { (open.key / size - 1.0) / size }
}
