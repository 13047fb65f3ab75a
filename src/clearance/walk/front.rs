//! What a search proved, kept for the next question after a small move.
//!
//! A cut through all pairs of boxes holds every pair of items. Each of its pairs stands a known distance apart
//! along a known direction; when the second solid moves, that distance changes by what the box's centre
//! moves along the direction, give or take what the turn does to a box of its size. So one pass over a flat
//! list tells which few pairs may matter now.

use nalgebra::{Matrix3, Vector3};

use super::super::convex::Nearest;
use super::super::index::Index;
use super::super::tree::apart_along;
use super::Outcome;
use super::leaf::Facing;
use super::pair::{Brood, Leaves, Open, Pair, Under};
use crate::space::Pose;

/// What becomes of pairs that a search need not open.
pub(super) trait Keep {
    /// A pair of boxes that is done with.
    fn aside(&mut self, open: &Open);
    /// The leaves of the least gap so far.
    fn nearest(&mut self, leaves: Leaves);
    /// A pair was opened.
    fn opened(&mut self);
}

/// A cut through all pairs of boxes, and how each stands apart.
#[derive(Clone, Debug, Default)]
pub(crate) struct Front {
    pairs: Vec<Open>,
    stands: Vec<Stands>,
    nearest: Option<Leaves>,
    opened: usize,
    at: Matrix3<f64>,
    /// From the second tree's origin to its place from the first's.
    shift: Vector3<f64>,
}

/// Leaves within this of the least gap are told apart by their own nearest points, mm.
const CLOSE_MM: f64 = 2.0;

/// Pairs looked at side by side.
const LANES: usize = 8;

/// How some pairs stand apart, side by side so that one pass looks at all of them at once.
#[derive(Clone, Debug)]
struct Stands {
    /// Unit, in the first solid's frame; x, y, z.
    along: [[f32; LANES]; 3],
    /// At least this far along it, mm.
    apart: [f32; LANES],
    /// The second box's centre, from its tree's origin.
    center: [[f32; LANES]; 3],
    /// Its half diagonal.
    size: [f32; LANES],
}

impl Keep for Front {
    #[inline]
    fn aside(&mut self, open: &Open) {
        self.pairs.push(*open);
    }
    fn nearest(&mut self, leaves: Leaves) {
        self.nearest = Some(leaves);
    }
    fn opened(&mut self) {
        self.opened += 1;
    }
}

/// The least gap between two solids, and what the search proved of all the rest.
pub(crate) fn least_gap_kept(a: &Index, b: &Index, a_from_b: &Pose, front: &mut Front) -> Outcome {
    if a.tree.nodes.is_empty() || b.tree.nodes.is_empty() {
        return Outcome::Beyond { at_least_mm: f64::INFINITY };
    }
    let pair = Pair::new(a, b, a_from_b);
    let outcome = pair.search(f64::INFINITY, front);
    if let Outcome::Apart(found) = &outcome {
        front.settle(&pair, pair.facing(found).as_ref(), found.nearest.gap_mm);
    }
    outcome
}

impl Front {
    /// Finds out how each pair stands apart.
    fn settle(&mut self, pair: &Pair<'_>, facing: Option<&Facing>, gap_mm: f64) {
        self.at = pair.turn;
        self.shift = pair.shift_of_origins();
        self.stands = self.pairs.chunks(LANES).map(|some| Stands::of(pair, some, facing, gap_mm)).collect();
    }

    /// The least gap after a small move; `None` when the solids meet, or when so much came near that a search
    /// from the top does as well.
    pub fn least_gap(&self, a: &Index, b: &Index, a_from_b: &Pose) -> Option<Nearest> {
        let pair = Pair::new(a, b, a_from_b);
        let mut best = pair.leaf(self.nearest?, f64::INFINITY, None)?;
        let mut facing = pair.facing(&best)?;
        let most = self.opened / 2 + 16;
        let mut stack = Vec::with_capacity(128);
        self.near(&pair, best.nearest.gap_mm, &mut |open| stack.push(*open));
        let mut opened = 0;
        while let Some(open) = stack.pop() {
            let limit = best.nearest.gap_mm;
            if f64::from(open.key) >= limit {
                continue;
            }
            opened += 1;
            if opened > most {
                return None;
            }
            let mut brood = Brood::new();
            let under = pair.open(&open, |child| {
                if f64::from(child.key) < limit {
                    brood.add(child);
                }
            });
            match under {
                Under::Boxes => stack.extend_from_slice(brood.pairs()),
                Under::Leaves(leaves) => {
                    if let Some(found) = pair.leaf(leaves, limit, Some(&facing)) {
                        best = found;
                        facing = pair.facing(&found)?;
                    }
                }
            }
        }
        Some(best.nearest)
    }

    /// The pairs that may have come nearer than a limit, bounds renewed.
    fn near(&self, pair: &Pair<'_>, limit_mm: f64, visit: &mut impl FnMut(&Open)) {
        let turned = pair.turn - self.at;
        // The greatest stretch of the difference of two turns: its Frobenius norm over root 2.
        let stretch = (turned.norm() / std::f64::consts::SQRT_2) as f32;
        let turned: Matrix3<f32> = turned.map(|v| v as f32);
        let shifted: Vector3<f32> = (pair.shift_of_origins() - self.shift).map(|v| v as f32);
        let limit = limit_mm as f32 + pair.relative.slack;
        for (pairs, stands) in self.pairs.chunks(LANES).zip(&self.stands) {
            let apart = stands.after(&turned, &shifted, stretch);
            for (open, apart) in pairs.iter().zip(apart) {
                if apart < limit {
                    visit(&Open { key: apart - pair.relative.slack, ..*open });
                }
            }
        }
    }
}

impl Stands {
    fn of(pair: &Pair<'_>, pairs: &[Open], facing: Option<&Facing>, gap_mm: f64) -> Self {
        let far = [f32::INFINITY; LANES];
        let none = [[0.0; LANES]; 3];
        let mut stands = Stands { along: none, apart: far, center: none, size: [0.0; LANES] };
        for (lane, open) in pairs.iter().enumerate() {
            let (one, two) = (pair.a.tree.bounds(open.a), pair.b.tree.bounds(open.b));
            let mut best = apart_along(&one, &two, &pair.relative);
            if let Some(leaves) = pair.leaves(open) {
                let mut offer = |facing: &Facing| {
                    // The direction is rounded, and with it the distance along it.
                    let apart = pair.leaves_along(leaves, facing) as f32 - pair.relative.slack;
                    if apart > best.1 {
                        best = (facing.of_a.map(|v| v as f32), apart);
                    }
                    apart
                };
                // The line of the least gap tells most of its neighbours apart; the rest are asked for their own.
                let far = facing.map_or(f32::NEG_INFINITY, &mut offer);
                if f64::from(far) < gap_mm + CLOSE_MM
                    && let Some(own) =
                        pair.leaf(leaves, f64::INFINITY, None).and_then(|own| pair.facing(&own))
                {
                    offer(&own);
                }
            }
            let (along, apart) = best;
            for i in 0..3 {
                stands.along[i][lane] = along[i];
                stands.center[i][lane] = two.center[i];
            }
            (stands.apart[lane], stands.size[lane]) = (apart, open.size_b);
        }
        stands
    }

    /// How far apart they stand at least after the second solid turned and shifted.
    #[inline]
    fn after(&self, turned: &Matrix3<f32>, shifted: &Vector3<f32>, stretch: f32) -> [f32; LANES] {
        let mut apart = self.apart;
        for (lane, apart) in apart.iter_mut().enumerate() {
            let [x, y, z] = [self.center[0][lane], self.center[1][lane], self.center[2][lane]];
            let mut along = 0.0;
            for i in 0..3 {
                let moved = turned[(i, 0)] * x + turned[(i, 1)] * y + turned[(i, 2)] * z + shifted[i];
                along += moved * self.along[i][lane];
            }
            *apart += along - stretch * self.size[lane];
        }
        apart
    }
}

impl Pair<'_> {
    /// From the first tree's origin to the second's, mm.
    fn shift_of_origins(&self) -> Vector3<f64> {
        self.turn * self.b.tree.origin.coords + self.shift - self.a.tree.origin.coords
    }
}
