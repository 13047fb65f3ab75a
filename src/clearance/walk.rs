//! Visiting pairs of tree nodes, nearest first.
//!
//! The queue holds pairs of boxes with a proved lower bound. The first pair whose bound is not
//! under the best gap found ends the search: everything behind it is at least as far.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use super::convex::{Convex, Core, Nearest, nearest, triangles};
use super::index::{Index, Item};
use super::part::{Part, part_gap};
use super::tree::{Box32, Child, Relative, boxes_below};
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

struct Open {
    /// Lower bound, or minus the boxes' overlap.
    key: f32,
    a: u32,
    b: u32,
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
    fn cmp(&self, other: &Self) -> Ordering {
        // The heap gives its greatest: the least key, then the earliest place.
        other.key.total_cmp(&self.key).then_with(|| (other.a, other.b).cmp(&(self.a, self.b)))
    }
}

/// The least gap under `limit_mm` between two solids; both in `a`'s frame.
pub(crate) fn least_gap(a: &Index, b: &Index, a_from_b: &Pose, limit_mm: f64) -> Outcome {
    if a.tree.nodes.is_empty() || b.tree.nodes.is_empty() {
        return Outcome::Beyond { at_least_mm: f64::INFINITY };
    }
    let relative = Relative::new(&a.tree, &b.tree, a_from_b);
    let mut best: Option<Found> = None;
    let mut limit = limit_mm;
    let mut heap = BinaryHeap::with_capacity(256);
    let top = first_bound(a, b, &relative);
    heap.push(Open { key: top, a: 0, b: 0 });
    while let Some(open) = heap.pop() {
        if f64::from(open.key) >= limit {
            return match best {
                Some(found) => Outcome::Apart(found),
                None => Outcome::Beyond { at_least_mm: f64::from(open.key) },
            };
        }
        let ((box_a, child_a), (box_b, child_b)) = (a.tree.at(open.a), b.tree.at(open.b));
        match (child_a, child_b) {
            (Some(Child::Items { start: sa, count: na }), Some(Child::Items { start: sb, count: nb })) => {
                let found = leaf(a, b, a_from_b, (sa, na), (sb, nb), limit);
                if let Some(found) = found {
                    if found.nearest.gap_mm <= 0.0 {
                        return Outcome::Meeting(found);
                    }
                    limit = found.nearest.gap_mm;
                    best = Some(found);
                }
            }
            (Some(Child::Node(node)), other) if descends_first(&box_a, &box_b, other) => {
                let four = &a.tree.nodes[node as usize];
                let bounds = boxes_below(&box_b, &relative.b_from_a, four, relative.slack);
                for (lane, bound) in bounds.into_iter().enumerate() {
                    if f64::from(bound) < limit && four.child(lane).is_some() {
                        heap.push(Open { key: bound, a: node * 4 + lane as u32, b: open.b });
                    }
                }
            }
            (_, Some(Child::Node(node))) => {
                let four = &b.tree.nodes[node as usize];
                let bounds = boxes_below(&box_a, &relative.a_from_b, four, relative.slack);
                for (lane, bound) in bounds.into_iter().enumerate() {
                    if f64::from(bound) < limit && four.child(lane).is_some() {
                        heap.push(Open { key: bound, a: open.a, b: node * 4 + lane as u32 });
                    }
                }
            }
            _ => {}
        }
    }
    match best {
        Some(found) => Outcome::Apart(found),
        None => Outcome::Beyond { at_least_mm: limit },
    }
}

/// Whether the first of two boxes is the one to open: the larger, or the only one that can be.
pub(crate) fn descends_first(a: &Box32, b: &Box32, child_b: Option<Child>) -> bool {
    !matches!(child_b, Some(Child::Node(_))) || a.half.norm_squared() >= b.half.norm_squared()
}

fn first_bound(a: &Index, b: &Index, relative: &Relative) -> f32 {
    let (whole, _) = a.tree.at(0);
    boxes_below(&whole, &relative.a_from_b, &b.tree.nodes[0], relative.slack)[0]
}

/// The least gap under `limit_mm` between the items of two leaves.
pub(crate) fn leaf(
    a: &Index,
    b: &Index,
    a_from_b: &Pose,
    (start_a, count_a): (u32, u32),
    (start_b, count_b): (u32, u32),
    limit_mm: f64,
) -> Option<Found> {
    let mut best: Option<Found> = None;
    let mut limit = limit_mm;
    for j in start_b..start_b + count_b {
        let item_b = Moved::of(b.store.item(j), a_from_b);
        for i in start_a..start_a + count_a {
            if let Some(nearest) = item_gap(a.store.item(i), &item_b, limit) {
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

/// An item of the moving solid, brought into the fixed frame.
pub(crate) enum Moved {
    Triangle([nalgebra::Point3<f64>; 3]),
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

    fn part(&self) -> Part {
        match self {
            Moved::Triangle(corners) => Part::Convex(Convex::new(Core::Triangle(*corners), 0.0)),
            Moved::Part(part) => part.clone(),
        }
    }
}

/// The gap of two items of one frame when it is under `limit_mm`.
pub(crate) fn item_gap(a: Item<'_>, b: &Moved, limit_mm: f64) -> Option<Nearest> {
    if let (Item::Triangle(s), Moved::Triangle(t)) = (a, b) {
        if boxes_apart_sq(s, t) >= limit_mm.max(0.0).powi(2) && limit_mm < f64::INFINITY {
            return None;
        }
        let (on_a, on_b) = triangles(s, t);
        let offset = on_b - on_a;
        let gap_mm = offset.norm();
        if gap_mm >= limit_mm {
            return None;
        }
        if gap_mm > 0.0 {
            return Some(Nearest { gap_mm, on_a, on_b, normal: offset / gap_mm });
        }
    }
    let part_a = match a {
        Item::Triangle(corners) => Part::Convex(Convex::new(Core::Triangle(*corners), 0.0)),
        Item::Ball(center, radius_mm) => Part::ball(*center, radius_mm),
        Item::Part(part) => part.clone(),
    };
    match (&part_a, b.part()) {
        (Part::Convex(a), Part::Convex(b)) => Some(nearest(a, &b)).filter(|n| n.gap_mm < limit_mm),
        (a, b) => part_gap(a, &b, limit_mm),
    }
}

fn boxes_apart_sq(s: &[nalgebra::Point3<f64>; 3], t: &[nalgebra::Point3<f64>; 3]) -> f64 {
    (0..3)
        .map(|i| {
            let (s0, s1) = (s[0][i].min(s[1][i]).min(s[2][i]), s[0][i].max(s[1][i]).max(s[2][i]));
            let (t0, t1) = (t[0][i].min(t[1][i]).min(t[2][i]), t[0][i].max(t[1][i]).max(t[2][i]));
            (s0 - t1).max(t0 - s1).max(0.0).powi(2)
        })
        .sum()
}
