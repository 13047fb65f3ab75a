//! Overlapping solids: how far and which way to move one so that they part.
//!
//! For two convex bodies the shortest push is known exactly. For anything else directions are
//! tried, the ways in which single pieces part among them, and along each one the travel is
//! followed exactly: as long as some pair of pieces overlaps, on to where the last of them parts.
//! So for every smaller travel along the direction found the solids still overlap, and the
//! travel is an upper bound on the true depth. Leaves to others: pairs of pieces (`convex`, `bend`).

use nalgebra::Vector3;

use super::bend;
use super::contained::contained;
use super::convex::{Nearest, nearest, overlap_exit};
use super::index::Index;
use super::part::{Part, part_gap};
use super::tree::{Child, Relative, boxes_below};
use super::walk::{Found, Outcome, descends_first, least_gap};
use crate::space::Pose;

/// Overlaps shallower than this are contact, mm.
pub(crate) const CONTACT_MM: f64 = 1e-9;

/// How many of the deepest pairs lend their direction.
const DEEPEST: usize = 10;

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
    for direction in directions(a, b, a_from_b, &pairs) {
        search.try_along(&direction);
    }
    search.refine();
    match search.best {
        Some(best) => best.gap(),
        None => touching.nearest,
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
    for (i, p) in pairs.iter().take(DEEPEST).enumerate() {
        for q in &pairs[i + 1..pairs.len().min(DEEPEST)] {
            if list_len_reached(&mut offer, p.nearest.normal + q.nearest.normal) {
                break;
            }
        }
    }
    list
}

fn list_len_reached(offer: &mut impl FnMut(Vector3<f64>) -> usize, direction: Vector3<f64>) -> bool {
    offer(direction) >= 40
}

#[derive(Clone, Copy, Debug)]
struct Parting {
    travel_mm: f64,
    direction: Vector3<f64>,
    /// Where the last pair parted, before the travel is taken back.
    contact: Nearest,
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
        let mut step = 0.2;
        while step > 2e-3 {
            let Some(best) = self.best else { return };
            let side = super::convex::perpendicular(&best.direction);
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

/// The travel along a direction at which the solids first part, unless it reaches `limit_mm`.
fn parting_along(
    a: &Index,
    b: &Index,
    a_from_b: &Pose,
    direction: &Vector3<f64>,
    limit_mm: f64,
) -> Option<Parting> {
    let mut at = 0.0f64;
    let mut last: Option<(u32, u32)> = None;
    for _ in 0..4000 {
        if at >= limit_mm {
            return None;
        }
        let pose = shifted(a_from_b, &(direction * at));
        match farthest_exit(a, b, &pose, direction) {
            Some((further, items)) => {
                at += further;
                last = Some(items);
            }
            None if contained(a, b, &pose) => {
                // Surfaces are apart but one is inside the other: nothing changes within their gap.
                let step = match least_gap(a, b, &pose, f64::INFINITY) {
                    Outcome::Apart(found) => found.nearest.gap_mm,
                    Outcome::Meeting(_) | Outcome::Beyond { .. } => 0.0,
                };
                at += step.max(1e-7 * (1.0 + at));
            }
            None => {
                let (i, j) = last?;
                let contact = contact_of(a, b, &pose, (i, j), direction);
                return Some(Parting { travel_mm: at, direction: *direction, contact });
            }
        }
    }
    None
}

fn shifted(pose: &Pose, by: &Vector3<f64>) -> Pose {
    let mut moved = *pose;
    moved.translation.vector += by;
    moved
}

/// Nearest points and normal of a pair that has just parted.
fn contact_of(a: &Index, b: &Index, pose: &Pose, items: (u32, u32), direction: &Vector3<f64>) -> Nearest {
    let (one, two) = (a.store.part(items.0), b.store.part(items.1).moved(pose));
    // A little farther on there is a gap, and with it a normal that means something.
    let beyond = direction * 1e-5;
    let parted = part_gap(&one, &two.shifted(&beyond), f64::INFINITY);
    let contact =
        parted.unwrap_or(Nearest { gap_mm: 0.0, on_a: one.anchor(), on_b: two.anchor(), normal: *direction });
    Nearest { gap_mm: 0.0, on_b: contact.on_b - beyond, ..contact }
}

/// Of all pairs of items that overlap at a pose, the one that parts last along a direction.
fn farthest_exit(a: &Index, b: &Index, pose: &Pose, direction: &Vector3<f64>) -> Option<(f64, (u32, u32))> {
    let mut best: Option<(f64, (u32, u32))> = None;
    each_close_pair(a, b, pose, |i, j, one, two| {
        if let Some(exit) = exit_of(one, two, direction)
            && exit > CONTACT_MM
            && best.is_none_or(|(most, _)| exit > most)
        {
            best = Some((exit, (i, j)));
        }
    });
    best
}

/// The travel on which a pair that overlaps deeper than contact parts.
fn exit_of(a: &Part, b: &Part, direction: &Vector3<f64>) -> Option<f64> {
    match (a, b) {
        (Part::Convex(a), Part::Convex(b)) => {
            if let Some(span) = super::convex::flat_span(a, b, direction) {
                return span.filter(|(enter, _)| *enter < 0.0).map(|(_, exit)| exit);
            }
            (nearest(a, b).gap_mm < -CONTACT_MM).then(|| overlap_exit(a, b, direction)).flatten()
        }
        _ => Some(bend::exit(a, b, direction, 0.0)),
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
