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
use super::convex::{Nearest, flat_span, nearest, overlap, overlap_exit, triangle_span};
use super::index::{Index, Item};
use super::part::{Part, part_gap};
use super::tree::{Child, Relative, boxes_below, boxes_meet_within};
use super::walk::{Found, Moved, Outcome, descends_first, least_gap};
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
    if let [first, rest @ ..] = pairs {
        rest.iter().take(DEEPEST).for_each(|other| {
            offer(first.nearest.normal + other.nearest.normal);
        });
    }
    list
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
        let mut step = 0.15;
        while step > 0.01 {
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
    let sweep = Sweep::gather(a, b, a_from_b, direction, limit_mm);
    let mut spans = sweep.spans.iter().peekable();
    let (mut at, mut last) = (0.0f64, None);
    for _ in 0..100_000 {
        let before = at;
        while let Some(span) = spans.next_if(|span| span.enter_mm <= at + CONTACT_MM) {
            if span.exit_mm > at + CONTACT_MM {
                at = span.exit_mm;
                last = Some(span.items);
            }
        }
        for (items, one, two) in &sweep.curved {
            if let Some(further) = exit_of(one, &two.shifted(&(direction * at)), direction, limit_mm - at)
                && further > CONTACT_MM
            {
                at += further;
                last = Some(*items);
            }
        }
        if at >= limit_mm {
            return None;
        }
        if at > before {
            continue;
        }
        let next = spans.peek().map_or(f64::INFINITY, |span| span.enter_mm);
        let probe = at + ((next - at) / 2.0).min(1e-6);
        let pose = shifted(a_from_b, &(direction * probe));
        if !contained(a, b, &pose) {
            let pose = shifted(a_from_b, &(direction * at));
            let contact = contact_of(a, b, &pose, last?, direction);
            return Some(Parting { travel_mm: at, direction: *direction, contact });
        }
        // Surfaces are apart but one is inside the other: so it stays until they meet again.
        at = if sweep.curved.is_empty() {
            next
        } else {
            match least_gap(a, b, &pose, f64::INFINITY) {
                Outcome::Apart(found) => probe + found.nearest.gap_mm.max(1e-7 * (1.0 + at)),
                Outcome::Meeting(_) | Outcome::Beyond { .. } => probe + 1e-7 * (1.0 + at),
            }
        };
    }
    None
}

/// A pair of items that overlaps from one travel to another.
struct Span {
    enter_mm: f64,
    exit_mm: f64,
    items: (u32, u32),
}

/// What the moving solid meets on a straight line.
struct Sweep {
    /// Pairs of flat-faced items, in the order in which they meet.
    spans: Vec<Span>,
    /// Pairs with a curved item, whose travels are found as they are needed.
    curved: Vec<((u32, u32), Part, Part)>,
}

impl Sweep {
    fn gather(a: &Index, b: &Index, pose: &Pose, direction: &Vector3<f64>, limit_mm: f64) -> Self {
        let mut sweep = Sweep { spans: Vec::new(), curved: Vec::new() };
        if a.tree.nodes.is_empty() || b.tree.nodes.is_empty() {
            return sweep;
        }
        let relative = Relative::new(&a.tree, &b.tree, pose);
        let limit = limit_mm.min(1e30) as f32;
        let toward = direction.map(|v| v as f32);
        let mut open = vec![(0u32, 0u32)];
        while let Some((ra, rb)) = open.pop() {
            let ((box_a, child_a), (box_b, child_b)) = (a.tree.at(ra), b.tree.at(rb));
            if !boxes_meet_within(&box_a, &box_b, &relative, &toward, limit) {
                continue;
            }
            match (child_a, child_b) {
                (
                    Some(Child::Items { start: sa, count: na }),
                    Some(Child::Items { start: sb, count: nb }),
                ) => {
                    for j in sb..sb + nb {
                        let two = Moved::of(b.store.item(j), pose);
                        for i in sa..sa + na {
                            sweep.add(direction, limit_mm, (i, j), a.store.item(i), &two);
                        }
                    }
                }
                (Some(Child::Node(node)), other) if descends_first(&box_a, &box_b, other) => {
                    let four = &a.tree.nodes[node as usize];
                    let lanes = (0..4).filter(|lane| four.child(*lane).is_some());
                    open.extend(lanes.map(|lane| (node * 4 + lane as u32, rb)));
                }
                (_, Some(Child::Node(node))) => {
                    let four = &b.tree.nodes[node as usize];
                    let lanes = (0..4).filter(|lane| four.child(*lane).is_some());
                    open.extend(lanes.map(|lane| (ra, node * 4 + lane as u32)));
                }
                _ => {}
            }
        }
        let order = |p: &Span, q: &Span| p.enter_mm.total_cmp(&q.enter_mm).then(p.items.cmp(&q.items));
        sweep.spans.sort_unstable_by(order);
        sweep
    }

    fn add(
        &mut self,
        direction: &Vector3<f64>,
        limit_mm: f64,
        items: (u32, u32),
        one: Item<'_>,
        two: &Moved,
    ) {
        let span = match (one, two) {
            (Item::Triangle(s), Moved::Triangle(t)) => triangle_span(s, t, direction, limit_mm),
            _ => match (one.part(), two.part()) {
                (Part::Convex(a), Part::Convex(b)) => flat_span(&a, &b, direction),
                _ => None,
            },
        };
        match span {
            None => self.curved.push((items, one.part(), two.part())),
            Some(Some((enter_mm, exit_mm))) if exit_mm > CONTACT_MM && enter_mm < limit_mm => {
                self.spans.push(Span { enter_mm, exit_mm, items });
            }
            Some(_) => {}
        }
    }
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

/// The travel on which a pair that overlaps deeper than contact parts.
fn exit_of(a: &Part, b: &Part, direction: &Vector3<f64>, limit_mm: f64) -> Option<f64> {
    match (a, b) {
        (Part::Convex(a), Part::Convex(b)) => overlap(a, b).then(|| overlap_exit(a, b, direction)).flatten(),
        _ => Some(bend::exit(a, b, direction, 0.0, limit_mm)),
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
