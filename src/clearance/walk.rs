//! Visiting pairs of tree nodes, nearest first.
//!
//! A few pairs of each level are followed straight down for a first guess; then a queue takes pairs
//! of boxes by their proved lower bounds. The first whose bound is not under the best gap found
//! ends the search: everything behind it is at least as far.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use nalgebra::{Matrix3, Point3, Vector3};

use super::convex::{Convex, Core, Nearest, nearest, triangles_under};
use super::index::{Index, Item};
use super::part::{Part, part_gap};
use super::tree::{Box32, Child, LEAF, Relative, boxes_below};
use crate::space::Pose;

/// A pair of items and their gap.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Found {
    pub nearest: Nearest,
    pub items: (u32, u32),
}

/// What a walk came to.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Outcome {
    /// Nothing is nearer than `at_least_mm`, which is the limit asked for or more.
    Beyond { at_least_mm: f64 },
    /// The least gap, above zero.
    Apart(Found),
    /// Two items that meet (not necessarily the deepest).
    Meeting(Found),
}

/// A pair of boxes still to be looked at.
#[derive(Clone, Copy, Debug)]
struct Open {
    /// Lower bound; for boxes that meet, below zero, and the lower the smaller they are: items that
    /// meet are found by going down, not by opening everything that overlaps.
    key: f32,
    a: u32,
    b: u32,
    /// Sizes of the two boxes: the larger is opened first.
    size_a: f32,
    size_b: f32,
}

impl PartialEq for Open {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Open {}
impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Open {
    /// The greatest is the one to look at first: the least key, then the earliest place.
    fn cmp(&self, other: &Self) -> Ordering {
        other.key.total_cmp(&self.key).then_with(|| (other.a, other.b).cmp(&(self.a, self.b)))
    }
}

/// Two solids as they stand to each other.
struct Pair<'a> {
    a: &'a Index,
    b: &'a Index,
    a_from_b: &'a Pose,
    relative: Relative,
    /// The pose as a matrix, which moves points faster than a quaternion does.
    turn: Matrix3<f64>,
}

/// What is under a pair of boxes.
enum Under {
    /// Items of the first, and of the second.
    Leaves((u32, u32), (u32, u32)),
    Boxes,
}

impl Pair<'_> {
    fn top(&self) -> Open {
        let (whole_a, whole_b) = (&self.a.tree.nodes[0], &self.b.tree.nodes[0]);
        let key = boxes_below(&whole_a.bounds(0), &self.relative.a_from_b, whole_b, self.relative.slack)[0];
        Open { key, a: 0, b: 0, size_a: whole_a.sizes()[0], size_b: whole_b.sizes()[0] }
    }

    /// Opens the larger box of a pair and appends the pairs of its children; or names the items of two leaves.
    #[inline]
    fn open(&self, open: &Open, into: &mut Vec<Open>) -> Under {
        let slack = self.relative.slack;
        let (child_a, child_b) = (self.a.tree.child(open.a), self.b.tree.child(open.b));
        let (node, opens_a) = match (child_a, child_b) {
            (Some(Child::Items { start: sa, count: na }), Some(Child::Items { start: sb, count: nb })) => {
                return Under::Leaves((sa, na), (sb, nb));
            }
            (Some(Child::Node(node)), Some(Child::Node(other))) => {
                if open.size_a >= open.size_b {
                    (node, true)
                } else {
                    (other, false)
                }
            }
            (Some(Child::Node(node)), _) => (node, true),
            (_, Some(Child::Node(node))) => (node, false),
            _ => return Under::Boxes,
        };
        if opens_a {
            let four = &self.a.tree.nodes[node as usize];
            let bounds = boxes_below(&self.b.tree.bounds(open.b), &self.relative.b_from_a, four, slack);
            let sizes = four.sizes();
            for lane in 0..four.count() {
                let key = key_of(bounds[lane], sizes[lane].max(open.size_b));
                into.push(Open { key, a: node * 4 + lane as u32, size_a: sizes[lane], ..*open });
            }
        } else {
            let four = &self.b.tree.nodes[node as usize];
            let bounds = boxes_below(&self.a.tree.bounds(open.a), &self.relative.a_from_b, four, slack);
            let sizes = four.sizes();
            for lane in 0..four.count() {
                let key = key_of(bounds[lane], sizes[lane].max(open.size_a));
                into.push(Open { key, b: node * 4 + lane as u32, size_b: sizes[lane], ..*open });
            }
        }
        Under::Boxes
    }

    /// The least gap under `limit_mm` between the items of two leaves.
    fn leaf(
        &self,
        (start_a, count_a): (u32, u32),
        (start_b, count_b): (u32, u32),
        limit_mm: f64,
    ) -> Option<Found> {
        let (a, b) = (&self.a.store, &self.b.store);
        if let (Some(ones), Some(twos)) = (a.plain_triangles(), b.plain_triangles()) {
            let ones = &ones[start_a as usize..(start_a + count_a) as usize];
            let twos = &twos[start_b as usize..(start_b + count_b) as usize];
            return self.triangle_leaf((ones, start_a), (twos, start_b), limit_mm);
        }
        let mut best: Option<Found> = None;
        let mut limit = limit_mm;
        for j in start_b..start_b + count_b {
            let item_b = Moved::of(b.item(j), self.a_from_b);
            for i in start_a..start_a + count_a {
                if let Some(nearest) = item_gap(a.item(i), &item_b, limit) {
                    limit = nearest.gap_mm;
                    best = Some(Found { nearest, items: (i, j) });
                    if limit <= 0.0 {
                        return best;
                    }
                }
            }
        }
        best
    }

    fn triangle_leaf(
        &self,
        (ones, start_a): (&[[Point3<f64>; 3]], u32),
        (twos, start_b): (&[[Point3<f64>; 3]], u32),
        limit_mm: f64,
    ) -> Option<Found> {
        let mut best: Option<Found> = None;
        let mut limit = limit_mm;
        let rounds = Rounds::of(ones);
        let shift = self.a_from_b.translation.vector;
        let moved = |p: &Point3<f64>| Point3::from(self.turn * p.coords + shift);
        for (j, [p, q, r]) in twos.iter().enumerate() {
            let two = [moved(p), moved(q), moved(r)];
            let round = Round::of(&two);
            for (i, one) in ones.iter().enumerate() {
                if rounds.0[i].gap_sq(&round) >= limit * limit {
                    continue;
                }
                if let Some(nearest) = triangle_gap(one, &two, limit) {
                    limit = nearest.gap_mm;
                    best = Some(Found { nearest, items: (start_a + i as u32, start_b + j as u32) });
                    if limit <= 0.0 {
                        return best;
                    }
                }
            }
        }
        best
    }

    /// Goes straight down with the few nearest pairs of each level: a gap to start from.
    fn first_guess(&self, limit_mm: f64, keep: &mut impl Keep) -> Option<Found> {
        let mut best: Option<Found> = None;
        let mut limit = limit_mm;
        let mut level = vec![self.top()];
        let mut next = Vec::with_capacity(4 * ABREAST);
        while !level.is_empty() {
            for open in &level {
                if f64::from(open.key) < limit
                    && let Under::Leaves(ones, twos) = self.open(open, &mut next)
                    && let Some(found) = self.leaf(ones, twos, limit)
                {
                    limit = found.nearest.gap_mm;
                    best = Some(found);
                    keep.nearest((ones, twos));
                    if limit <= 0.0 {
                        return best;
                    }
                }
            }
            next.sort_unstable_by(|p, q| p.key.total_cmp(&q.key).then((p.a, p.b).cmp(&(q.a, q.b))));
            next.truncate(ABREAST);
            std::mem::swap(&mut level, &mut next);
            next.clear();
        }
        best
    }
}

/// How many pairs of a level the first guess follows.
const ABREAST: usize = 6;

/// The least gap under `limit_mm` between two solids; both in `a`'s frame.
pub(crate) fn least_gap(a: &Index, b: &Index, a_from_b: &Pose, limit_mm: f64) -> Outcome {
    if a.tree.nodes.is_empty() || b.tree.nodes.is_empty() {
        return Outcome::Beyond { at_least_mm: f64::INFINITY };
    }
    Pair::new(a, b, a_from_b).search(limit_mm, &mut Forget)
}

/// The least gap between two solids, and what the search proved of all the rest.
pub(crate) fn least_gap_kept(a: &Index, b: &Index, a_from_b: &Pose, front: &mut Front) -> Outcome {
    if a.tree.nodes.is_empty() || b.tree.nodes.is_empty() {
        return Outcome::Beyond { at_least_mm: f64::INFINITY };
    }
    let outcome = Pair::new(a, b, a_from_b).search(f64::INFINITY, front);
    front.sort();
    outcome
}

/// What becomes of pairs that a search need not open.
trait Keep {
    /// A pair no nearer than `at_least`.
    fn aside(&mut self, open: &Open, at_least: f32);
    /// The leaves of the least gap so far.
    fn nearest(&mut self, leaves: Leaves);
    /// A pair was opened.
    fn opened(&mut self);
}

/// Nothing is kept.
struct Forget;

impl Keep for Forget {
    #[inline]
    fn aside(&mut self, _: &Open, _: f32) {}
    #[inline]
    fn nearest(&mut self, _: Leaves) {}
    #[inline]
    fn opened(&mut self) {}
}

/// Items of the first solid, and of the second: start and count.
type Leaves = ((u32, u32), (u32, u32));

/// A cut through all pairs of boxes, each with a proved lower bound on its gap: together they hold every pair
/// of items.
#[derive(Clone, Debug, Default)]
pub(crate) struct Front {
    /// By bound, the least first.
    pairs: Vec<Open>,
    nearest: Option<Leaves>,
    opened: usize,
}

impl Keep for Front {
    fn aside(&mut self, open: &Open, at_least: f32) {
        self.pairs.push(Open { key: at_least, ..*open });
    }
    fn nearest(&mut self, leaves: Leaves) {
        self.nearest = Some(leaves);
    }
    fn opened(&mut self) {
        self.opened += 1;
    }
}

impl Front {
    fn sort(&mut self) {
        self.pairs.sort_unstable_by(|p, q| q.cmp(p));
    }

    /// The least gap after the second solid moved by at most `moved_mm` anywhere; `None` when the solids meet,
    /// or when so much came near that a search from the top does as well.
    pub fn least_gap(&self, a: &Index, b: &Index, a_from_b: &Pose, moved_mm: f64) -> Option<Nearest> {
        let pair = Pair::new(a, b, a_from_b);
        let (ones, twos) = self.nearest?;
        let mut best = pair.leaf(ones, twos, f64::INFINITY)?;
        let mut heap = BinaryHeap::with_capacity(256);
        let most = self.opened / 2 + 16;
        for open in &self.pairs {
            let limit = best.nearest.gap_mm;
            if f64::from(open.key) - moved_mm >= limit {
                break;
            }
            let key = pair.bound(open);
            if f64::from(key) < limit {
                heap.push(Open { key, ..*open });
            }
            if heap.len() > most {
                return None;
            }
        }
        let mut brood = Vec::with_capacity(4);
        let mut opened = 0;
        while let Some(open) = heap.pop() {
            let limit = best.nearest.gap_mm;
            if limit <= 0.0 || opened > most {
                return None;
            }
            if f64::from(open.key) >= limit {
                break;
            }
            opened += 1;
            if let Under::Leaves(ones, twos) = pair.open(&open, &mut brood) {
                best = pair.leaf(ones, twos, limit).unwrap_or(best);
            }
            heap.extend(brood.drain(..).filter(|child| f64::from(child.key) < limit));
        }
        (best.nearest.gap_mm > 0.0).then_some(best.nearest)
    }
}

impl<'a> Pair<'a> {
    fn new(a: &'a Index, b: &'a Index, a_from_b: &'a Pose) -> Self {
        let relative = Relative::new(&a.tree, &b.tree, a_from_b);
        let turn = Matrix3::from(a_from_b.rotation.to_rotation_matrix());
        Pair { a, b, a_from_b, relative, turn }
    }

    /// The lower bound of one pair of boxes.
    fn bound(&self, open: &Open) -> f32 {
        let four = &self.b.tree.nodes[(open.b >> 2) as usize];
        let one = self.a.tree.bounds(open.a);
        let bounds = boxes_below(&one, &self.relative.a_from_b, four, self.relative.slack);
        key_of(bounds[(open.b & 3) as usize], open.size_a.max(open.size_b))
    }

    fn search(&self, limit_mm: f64, keep: &mut impl Keep) -> Outcome {
        let mut best = self.first_guess(limit_mm, keep);
        let mut limit = match &best {
            Some(found) if found.nearest.gap_mm <= 0.0 => return Outcome::Meeting(*found),
            Some(found) => found.nearest.gap_mm,
            None => limit_mm,
        };
        let mut heap = BinaryHeap::with_capacity(256);
        let mut brood = Vec::with_capacity(4);
        let mut next = Some(self.top());
        // Least bound among pairs put aside: what is certain when nothing is found.
        let mut dropped = f32::INFINITY;
        let mut refused = false;
        while let Some(open) = next.take().or_else(|| heap.pop()) {
            if f64::from(open.key) >= limit {
                // All that is left is at least as far.
                dropped = dropped.min(open.key);
                keep.aside(&open, open.key);
                break;
            }
            keep.opened();
            if let Under::Leaves(ones, twos) = self.open(&open, &mut brood) {
                if let Some(found) = self.leaf(ones, twos, limit) {
                    if found.nearest.gap_mm <= 0.0 {
                        return Outcome::Meeting(found);
                    }
                    limit = found.nearest.gap_mm;
                    best = Some(found);
                    keep.nearest((ones, twos));
                } else {
                    // Looked at and not under the limit: no more than that is known of these pieces.
                    refused = true;
                }
                keep.aside(&open, below(limit));
                continue;
            }
            let mut nearest: Option<Open> = None;
            for mut child in brood.drain(..) {
                if f64::from(child.key) >= limit {
                    dropped = dropped.min(child.key);
                    keep.aside(&child, child.key);
                    continue;
                }
                match &mut nearest {
                    Some(other) => {
                        if child > *other {
                            std::mem::swap(&mut child, other);
                        }
                        heap.push(child);
                    }
                    None => nearest = Some(child),
                }
            }
            // The nearest child is usually the next to be looked at: no need to queue it for that.
            match (nearest, heap.peek()) {
                (Some(child), Some(top)) if *top > child => heap.push(child),
                (child, _) => next = child,
            }
        }
        for open in heap {
            keep.aside(&open, open.key);
        }
        match best {
            Some(found) => Outcome::Apart(found),
            None if refused => Outcome::Beyond { at_least_mm: limit },
            None => Outcome::Beyond { at_least_mm: f64::from(dropped).max(limit) },
        }
    }
}

/// A little less, in f32.
fn below(mm: f64) -> f32 {
    (mm * (1.0 - 1e-6)) as f32
}

fn key_of(bound: f32, size: f32) -> f32 {
    // Among meeting boxes of a size the more deeply overlapping first.
    if bound > 0.0 { bound } else { (bound / size - 1.0) / size }
}

/// Whether the first of two boxes is the one to open: the larger, or the only one that can be.
pub(crate) fn descends_first(a: &Box32, b: &Box32, child_b: Option<Child>) -> bool {
    !matches!(child_b, Some(Child::Node(_))) || a.half.norm_squared() >= b.half.norm_squared()
}

/// A triangle as a round plate: cheap to tell apart from another.
#[derive(Clone, Copy)]
struct Round {
    center: Vector3<f64>,
    radius_mm: f64,
    normal: Vector3<f64>,
    /// Over the normal's length squared; 0 for a triangle of no area.
    per_normal_sq: f64,
}

/// The round plates of a leaf.
struct Rounds([Round; LEAF]);

impl Rounds {
    fn of(triangles: &[[Point3<f64>; 3]]) -> Self {
        let mut rounds = [Round::NONE; LEAF];
        for (round, triangle) in rounds.iter_mut().zip(triangles) {
            *round = Round::of(triangle);
        }
        Rounds(rounds)
    }
}

impl Round {
    const NONE: Round = Round {
        center: Vector3::new(0.0, 0.0, 0.0),
        radius_mm: 0.0,
        normal: Vector3::new(0.0, 0.0, 0.0),
        per_normal_sq: 0.0,
    };

    #[inline]
    fn of([a, b, c]: &[Point3<f64>; 3]) -> Self {
        let center = (a.coords + b.coords + c.coords) / 3.0;
        let far_sq = |p: &Point3<f64>| (p.coords - center).norm_squared();
        let normal = (b - a).cross(&(c - a));
        let length_sq = normal.norm_squared();
        let per_normal_sq = if length_sq > 0.0 { 1.0 / length_sq } else { 0.0 };
        Round { center, radius_mm: far_sq(a).max(far_sq(b)).max(far_sq(c)).sqrt(), normal, per_normal_sq }
    }

    /// Square of a lower bound on the gap of the plates that two triangles lie in.
    #[inline]
    fn gap_sq(&self, other: &Round) -> f64 {
        let offset = other.center - self.center;
        let height = self.normal.dot(&offset);
        let height_sq = height * height * self.per_normal_sq;
        let offset_sq = offset.norm_squared();
        // Sideways both plates reach their radius; upward the other tilts out of the plane by the sine.
        let cosine = self.normal.dot(&other.normal);
        let sine_sq = (1.0 - cosine * cosine * self.per_normal_sq * other.per_normal_sq).max(0.0);
        let up = (height_sq.sqrt() - other.radius_mm * sine_sq.sqrt()).max(0.0);
        let side = ((offset_sq - height_sq).max(0.0).sqrt() - self.radius_mm - other.radius_mm).max(0.0);
        // A little less than computed, for rounding.
        (up * up + side * side) * (1.0 - 1e-12)
    }
}

/// The gap of two triangles when it is under `limit_mm`.
fn triangle_gap(s: &[Point3<f64>; 3], t: &[Point3<f64>; 3], limit_mm: f64) -> Option<Nearest> {
    let (on_a, on_b) = triangles_under(s, t, limit_mm)?;
    let offset = on_b - on_a;
    let gap_mm = offset.norm();
    if gap_mm >= limit_mm {
        return None;
    }
    if gap_mm > 0.0 {
        return Some(Nearest { gap_mm, on_a, on_b, normal: offset / gap_mm });
    }
    let flat = |corners: &[Point3<f64>; 3]| Convex::new(Core::Triangle(*corners), 0.0);
    Some(nearest(&flat(s), &flat(t))).filter(|found| found.gap_mm < limit_mm)
}

/// An item of the moving solid, brought into the fixed frame.
pub(crate) enum Moved {
    Triangle([Point3<f64>; 3]),
    Part(Part),
}

impl Moved {
    pub fn of(item: Item<'_>, to_from_item: &Pose) -> Self {
        match item {
            Item::Triangle(corners) => Moved::Triangle(corners.map(|p| to_from_item * p)),
            Item::Ball(center, radius_mm) => Moved::Part(Part::ball(to_from_item * center, radius_mm)),
            Item::Part(part) => Moved::Part(part.moved(to_from_item)),
        }
    }

    pub fn part(&self) -> Part {
        match self {
            Moved::Triangle(corners) => Part::Convex(Convex::new(Core::Triangle(*corners), 0.0)),
            Moved::Part(part) => part.clone(),
        }
    }
}

/// The gap of two items of one frame when it is under `limit_mm`.
pub(crate) fn item_gap(a: Item<'_>, b: &Moved, limit_mm: f64) -> Option<Nearest> {
    if let (Item::Triangle(s), Moved::Triangle(t)) = (a, b) {
        return triangle_gap(s, t, limit_mm);
    }
    let part_a = a.part();
    match (&part_a, b.part()) {
        (Part::Convex(a), Part::Convex(b)) => Some(nearest(a, &b)).filter(|n| n.gap_mm < limit_mm),
        (a, b) => part_gap(a, &b, limit_mm),
    }
}
