//! The shortest way apart that is found: which directions are tried, and how the best is refined.

use nalgebra::Vector3;

use super::super::contained::contained;
use super::super::convex::{Nearest, nearest};
use super::super::index::Index;
use super::super::part::{Part, part_gap};
use super::super::tree::{Child, Relative, boxes_below, boxes_spans};
use super::super::walk::{Found, descends_first};
use super::along::parting_along;
use crate::space::Pose;

/// Overlaps shallower than this are contact, mm.
pub(crate) const CONTACT_MM: f64 = 1e-9;

/// How many of the deepest pairs lend their direction.
const DEEPEST: usize = 6;

/// The shortest parting move found, as a negative gap; in `a`'s frame.
pub(crate) fn depth(a: &Index, b: &Index, a_from_b: &Pose, touching: &Found) -> Nearest {
    if let ([Part::Convex(one)], [Part::Convex(two)]) = (a.store.parts.as_slice(), b.store.parts.as_slice())
        && a.store.item_count() == 1
        && b.store.item_count() == 1
    {
        return nearest(one, &two.moved(a_from_b));
    }
    let mut pairs = overlapping_pairs(a, b, a_from_b);
    if pairs.is_empty() && !contained(a, b, a_from_b) {
        return touching.nearest;
    }
    pairs.sort_by(|p, q| p.nearest.gap_mm.total_cmp(&q.nearest.gap_mm).then(p.items.cmp(&q.items)));
    let mut search = Search { a, b, a_from_b, best: None };
    // By how far the whole boxes part: the sooner a short way is known, the sooner the others are given up.
    let (whole_a, whole_b) = (a.tree.bounds(0), &b.tree.nodes[0]);
    let relative = Relative::new(&a.tree, &b.tree, a_from_b);
    let out_mm = |d: &Vector3<f64>| {
        let toward = d.map(|v| v as f32);
        boxes_spans(&whole_a, &relative.a_from_b, whole_b, &toward, relative.slack)[0].1
    };
    let mut directions: Vec<(f64, Vector3<f64>)> =
        directions(a, b, a_from_b, &pairs).into_iter().map(|d| (out_mm(&d), d)).collect();
    directions.sort_by(|p, q| p.0.total_cmp(&q.0));
    for (_, direction) in &directions {
        search.try_along(direction);
    }
    search.refine();
    match (search.best, directions.first()) {
        (Some(best), _) => best.gap(),
        // A surface that is called closed and is not may hold what no travel takes out through it: then out of its box.
        (None, Some((travel_mm, direction))) if pairs.is_empty() => {
            let on_a = a.tree.origin + direction * *travel_mm;
            Nearest {
                gap_mm: -travel_mm.max(2.0 * CONTACT_MM),
                on_a,
                on_b: a.tree.origin,
                normal: *direction,
            }
        }
        (None, _) => touching.nearest,
    }
}

/// Directions worth trying: how the deepest pairs part, their sums, the frames' axes, from middle to middle.
fn directions(a: &Index, b: &Index, a_from_b: &Pose, pairs: &[Found]) -> Vec<Vector3<f64>> {
    let mut list: Vec<Vector3<f64>> = Vec::new();
    let mut offer = |direction: Vector3<f64>| {
        if let Some(unit) = direction.try_normalize(1e-12)
            && list.iter().all(|other| other.dot(&unit) < 0.9998)
        {
            list.push(unit);
        }
        list.len()
    };
    for pair in pairs {
        if offer(pair.nearest.normal) >= DEEPEST {
            break;
        }
    }
    offer(a_from_b * b.tree.origin - a.tree.origin);
    for axis in [Vector3::x(), Vector3::y(), Vector3::z()] {
        for turned in [axis, a_from_b.rotation * axis] {
            offer(turned);
            offer(-turned);
        }
    }
    if let [first, rest @ ..] = pairs {
        rest.iter().take(DEEPEST).for_each(|other| {
            offer(first.nearest.normal + other.nearest.normal);
        });
    }
    list
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Parting {
    pub travel_mm: f64,
    pub direction: Vector3<f64>,
    /// Where the last pair parted, before the travel is taken back.
    pub contact: Nearest,
}

impl Parting {
    fn gap(&self) -> Nearest {
        Nearest {
            gap_mm: -self.travel_mm,
            on_a: self.contact.on_a,
            on_b: self.contact.on_b - self.direction * self.travel_mm,
            normal: self.direction,
        }
    }
}

struct Search<'a> {
    a: &'a Index,
    b: &'a Index,
    a_from_b: &'a Pose,
    best: Option<Parting>,
}

impl Search<'_> {
    /// Follows a direction; true when it beats the best so far.
    fn try_along(&mut self, direction: &Vector3<f64>) -> bool {
        let limit = self.best.map_or(f64::INFINITY, |best| best.travel_mm);
        match parting_along(self.a, self.b, self.a_from_b, direction, limit) {
            Some(parting) if parting.travel_mm < limit => {
                self.best = Some(parting);
                true
            }
            _ => false,
        }
    }

    /// Turns the direction toward the surface that was left last, then feels about it.
    fn refine(&mut self) {
        for _ in 0..24 {
            let Some(best) = self.best else { return };
            let toward = best.contact.normal;
            let better = self.try_along(&toward)
                || (best.direction + toward).try_normalize(1e-9).is_some_and(|d| self.try_along(&d));
            let gained = self.best.map_or(0.0, |now| best.travel_mm - now.travel_mm);
            if !better || gained <= 1e-12 * best.travel_mm {
                break;
            }
        }
        let mut step = 0.15;
        while step > 0.01 {
            let Some(best) = self.best else { return };
            let side = super::super::convex::perpendicular(&best.direction);
            let other = best.direction.cross(&side);
            let better = [side, -side, other, -other].into_iter().any(|turn| {
                (best.direction + turn * step).try_normalize(1e-9).is_some_and(|d| self.try_along(&d))
            });
            if !better {
                step /= 3.0;
            }
        }
    }
}

/// All pairs of items that overlap deeper than contact, with their own depths.
fn overlapping_pairs(a: &Index, b: &Index, pose: &Pose) -> Vec<Found> {
    let mut pairs = Vec::new();
    each_close_pair(a, b, pose, |i, j, one, two| {
        if let Some(nearest) = part_gap(one, two, -CONTACT_MM) {
            pairs.push(Found { nearest, items: (i, j) });
        }
    });
    pairs
}

/// Calls `visit` with every pair of items whose boxes meet, both in `a`'s frame.
fn each_close_pair(a: &Index, b: &Index, pose: &Pose, mut visit: impl FnMut(u32, u32, &Part, &Part)) {
    if a.tree.nodes.is_empty() || b.tree.nodes.is_empty() {
        return;
    }
    let relative = Relative::new(&a.tree, &b.tree, pose);
    let mut open = vec![(0u32, 0u32)];
    while let Some((ra, rb)) = open.pop() {
        let ((box_a, child_a), (box_b, child_b)) = (a.tree.at(ra), b.tree.at(rb));
        match (child_a, child_b) {
            (Some(Child::Items { start: sa, count: na }), Some(Child::Items { start: sb, count: nb })) => {
                for j in sb..sb + nb {
                    let two = b.store.part(j).moved(pose);
                    for i in sa..sa + na {
                        visit(i, j, &a.store.part(i), &two);
                    }
                }
            }
            (Some(Child::Node(node)), other) if descends_first(&box_a, &box_b, other) => {
                let four = &a.tree.nodes[node as usize];
                let bounds = boxes_below(&box_b, &relative.b_from_a, four, relative.slack);
                let lanes = (0..4).filter(|lane| bounds[*lane] <= 0.0 && four.child(*lane).is_some());
                open.extend(lanes.map(|lane| (node * 4 + lane as u32, rb)));
            }
            (_, Some(Child::Node(node))) => {
                let four = &b.tree.nodes[node as usize];
                let bounds = boxes_below(&box_a, &relative.a_from_b, four, relative.slack);
                let lanes = (0..4).filter(|lane| bounds[*lane] <= 0.0 && four.child(*lane).is_some());
                open.extend(lanes.map(|lane| (ra, node * 4 + lane as u32)));
            }
            _ => {}
        }
    }
}
