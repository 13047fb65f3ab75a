//! The travel along one direction after which two solids are first apart.
//!
//! Pairs of boxes and of items are met in the order of the travel: what overlaps at the travel reached so far is
//! looked at first, the longest overlap first, and each pair of items that still overlaps carries the travel on to
//! where it parts. What comes to overlap only farther on waits, and most of it is never looked at.
//! For every smaller travel some pair overlaps, or one solid is inside the other, so the travel is exact.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use nalgebra::Vector3;

use super::super::bend;
use super::super::contained::contained;
use super::super::convex::{Nearest, flat_span, overlap_exit, triangle_span};
use super::super::index::{Index, Item};
use super::super::part::{Part, part_gap};
use super::super::tree::{Child, Relative, boxes_spans};
use super::super::walk::{Moved, Outcome, descends_first, least_gap};
use super::depth::{CONTACT_MM, Parting};
use crate::space::Pose;

/// Looks ahead this far to tell whether one solid is inside the other, mm.
const PROBE_MM: f64 = 1e-6;

/// The travel along a unit direction at which the solids first part, unless it reaches `limit_mm`; `None` as well
/// when there is nothing to part.
pub(super) fn parting_along(
    a: &Index,
    b: &Index,
    a_from_b: &Pose,
    direction: &Vector3<f64>,
    limit_mm: f64,
) -> Option<Parting> {
    let parted = parted(a, b, a_from_b, direction, limit_mm)?;
    let pose = shifted(a_from_b, &(direction * parted.at_mm));
    let contact = contact_of(a, b, &pose, parted.last?, direction);
    Some(Parting { travel_mm: parted.at_mm, direction: *direction, contact })
}

/// Whether a travel of less than `limit_mm` along a unit direction parts the solids, or none is needed.
pub(crate) fn parts_within(
    a: &Index,
    b: &Index,
    a_from_b: &Pose,
    direction: &Vector3<f64>,
    limit_mm: f64,
) -> bool {
    parted(a, b, a_from_b, direction, limit_mm).is_some()
}

fn parted<'a>(
    a: &'a Index,
    b: &'a Index,
    a_from_b: &'a Pose,
    direction: &'a Vector3<f64>,
    limit_mm: f64,
) -> Option<Travel<'a>> {
    if a.tree.nodes.is_empty() || b.tree.nodes.is_empty() {
        return None;
    }
    let mut travel = Travel::new(a, b, a_from_b, direction, limit_mm);
    for _ in 0..100_000 {
        if !travel.part() {
            return None;
        }
        let before = travel.at_mm;
        travel.look_ahead();
        if travel.at_mm > before {
            continue;
        }
        let probe_mm = travel.at_mm + ((travel.next_mm() - travel.at_mm) / 2.0).min(PROBE_MM);
        let pose = shifted(a_from_b, &(direction * probe_mm));
        if !contained(a, b, &pose) {
            return Some(travel);
        }
        // Surfaces are apart but one is inside the other: so it stays until they meet again.
        travel.go_on_to_meeting(&pose);
    }
    None
}

struct Travel<'a> {
    a: &'a Index,
    b: &'a Index,
    a_from_b: &'a Pose,
    relative: Relative,
    direction: &'a Vector3<f64>,
    /// The direction, in `a`'s frame, and the opposite one, in `b`'s.
    toward: Vector3<f32>,
    back: Vector3<f32>,
    limit_mm: f64,
    at_mm: f64,
    /// The pair of items that parted last.
    last: Option<(u32, u32)>,
    /// Pairs of boxes that overlap at the travel reached: references into the trees, and where they part.
    open: Vec<(u32, u32, f64)>,
    /// What meets farther on, the nearest first.
    later: BinaryHeap<Later>,
    /// Pairs with a bend in them, which may part and meet again.
    bends: Vec<((u32, u32), Part, Part)>,
}

/// Two boxes or two items that overlap from one travel to another.
#[derive(Clone, Copy, Debug)]
struct Later {
    enter_mm: f64,
    leave_mm: f64,
    a: u32,
    b: u32,
    items: bool,
}

impl PartialEq for Later {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Later {}
impl PartialOrd for Later {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Later {
    /// The least travel is the greatest; what else differs only makes the order the same every time.
    fn cmp(&self, other: &Self) -> Ordering {
        let rest = |later: &Later| (later.items, later.a, later.b);
        other.enter_mm.total_cmp(&self.enter_mm).then_with(|| rest(other).cmp(&rest(self)))
    }
}

impl<'a> Travel<'a> {
    fn new(
        a: &'a Index,
        b: &'a Index,
        a_from_b: &'a Pose,
        direction: &'a Vector3<f64>,
        limit_mm: f64,
    ) -> Self {
        let relative = Relative::new(&a.tree, &b.tree, a_from_b);
        let toward = direction.map(|v| v as f32);
        Travel {
            a,
            b,
            a_from_b,
            relative,
            direction,
            toward,
            back: -(relative.b_from_a.turn * toward),
            limit_mm,
            at_mm: 0.0,
            last: None,
            open: vec![(0, 0, f64::INFINITY)],
            later: BinaryHeap::new(),
            bends: Vec::new(),
        }
    }

    /// Travels on until no items overlap; false when that takes the limit or more.
    fn part(&mut self) -> bool {
        loop {
            while let Some((ra, rb, leave_mm)) = self.open.pop() {
                if leave_mm > self.at_mm + CONTACT_MM {
                    self.open_boxes(ra, rb);
                    if self.at_mm >= self.limit_mm {
                        return false;
                    }
                }
            }
            if self.take_met(self.at_mm + CONTACT_MM) {
                continue;
            }
            if self.at_mm >= self.limit_mm {
                return false;
            }
            if !self.part_bends() {
                return true;
            }
        }
    }

    /// Takes what waits up to a travel; false when there is nothing.
    fn take_met(&mut self, up_to_mm: f64) -> bool {
        let mut any = false;
        while let Some(next) = self.later.peek().copied().filter(|next| next.enter_mm <= up_to_mm) {
            self.later.pop();
            any = true;
            if next.items {
                self.carry(next.leave_mm, (next.a, next.b));
            } else {
                self.open.push((next.a, next.b, next.leave_mm));
            }
        }
        any
    }

    /// A pair of items that overlaps here carries the travel on to where it parts.
    fn carry(&mut self, leave_mm: f64, items: (u32, u32)) {
        if leave_mm > self.at_mm + CONTACT_MM {
            self.at_mm = leave_mm;
            self.last = Some(items);
        }
    }

    /// True when some bend carried the travel on.
    fn part_bends(&mut self) -> bool {
        let before = self.at_mm;
        for (items, one, two) in &self.bends {
            let two = two.shifted(&(self.direction * self.at_mm));
            let further = bend::exit(one, &two, self.direction, 0.0, self.limit_mm - self.at_mm);
            if further > CONTACT_MM {
                self.at_mm += further;
                self.last = Some(*items);
            }
        }
        self.at_mm > before
    }

    /// Opens boxes that wait until it is sure that the next thing waiting is a pair of items, or is not near.
    fn look_ahead(&mut self) {
        while self.later.peek().is_some_and(|next| !next.items && next.enter_mm < self.at_mm + 2.0 * PROBE_MM)
        {
            self.open_next();
        }
    }

    /// Where the next thing that waits is met, at least.
    fn next_mm(&self) -> f64 {
        self.later.peek().map_or(f64::INFINITY, |next| next.enter_mm)
    }

    fn open_next(&mut self) {
        if let Some(next) = self.later.pop() {
            self.open_boxes(next.a, next.b);
            while let Some((ra, rb, _)) = self.open.pop() {
                self.open_boxes(ra, rb);
            }
        }
    }

    /// Travels on to where surfaces that are apart at `pose` meet next, or to the limit.
    fn go_on_to_meeting(&mut self, pose: &Pose) {
        if !self.bends.is_empty() {
            let step = 1e-7 * (1.0 + self.at_mm);
            self.at_mm += PROBE_MM
                + match least_gap(self.a, self.b, pose, f64::INFINITY) {
                    Outcome::Apart(found) => found.nearest.gap_mm.max(step),
                    Outcome::Meeting(_) | Outcome::Beyond { .. } => step,
                };
            return;
        }
        while self.later.peek().is_some_and(|next| !next.items) {
            self.open_next();
        }
        self.at_mm = self.next_mm().min(self.limit_mm);
    }

    /// Puts what is under a pair of boxes where it belongs.
    fn open_boxes(&mut self, ra: u32, rb: u32) {
        let ((box_a, child_a), (box_b, child_b)) = (self.a.tree.at(ra), self.b.tree.at(rb));
        let slack = self.relative.slack;
        let (node, opens_a, spans, count) = match (child_a, child_b) {
            (Some(Child::Items { start: sa, count: na }), Some(Child::Items { start: sb, count: nb })) => {
                return self.leaves(sa..sa + na, sb..sb + nb);
            }
            (Some(Child::Node(node)), other) if descends_first(&box_a, &box_b, other) => {
                let four = &self.a.tree.nodes[node as usize];
                let spans = boxes_spans(&box_b, &self.relative.b_from_a, four, &self.back, slack);
                (node, true, spans, four.count())
            }
            (_, Some(Child::Node(node))) => {
                let four = &self.b.tree.nodes[node as usize];
                let spans = boxes_spans(&box_a, &self.relative.a_from_b, four, &self.toward, slack);
                (node, false, spans, four.count())
            }
            _ => return,
        };
        let mut met = [(0u32, 0u32, 0.0f64); 4];
        let mut count_met = 0;
        for (lane, (enter_mm, leave_mm)) in spans.into_iter().enumerate().take(count) {
            let child = node * 4 + lane as u32;
            let (ra, rb) = if opens_a { (child, rb) } else { (ra, child) };
            if enter_mm > leave_mm || leave_mm <= self.at_mm || enter_mm >= self.limit_mm {
                continue;
            }
            if enter_mm > self.at_mm {
                self.later.push(Later { enter_mm, leave_mm, a: ra, b: rb, items: false });
            } else {
                met[count_met] = (ra, rb, leave_mm);
                count_met += 1;
            }
        }
        // The longest overlap is taken first: it carries the travel past most of the others.
        met[..count_met].sort_by(|p, q| p.2.total_cmp(&q.2));
        self.open.extend_from_slice(&met[..count_met]);
    }

    fn leaves(&mut self, ones: std::ops::Range<u32>, twos: std::ops::Range<u32>) {
        for j in twos {
            let two = Moved::of(self.b.store.item(j), self.a_from_b);
            for i in ones.clone() {
                let one = self.a.store.item(i);
                match self.span(one, &two) {
                    Met::Never => {}
                    Met::Bend(parts) => self.bends.push(((i, j), parts.0, parts.1)),
                    Met::Between(enter_mm, leave_mm) => {
                        if enter_mm <= self.at_mm + CONTACT_MM {
                            self.carry(leave_mm, (i, j));
                        } else if leave_mm > self.at_mm + CONTACT_MM && enter_mm < self.limit_mm {
                            self.later.push(Later { enter_mm, leave_mm, a: i, b: j, items: true });
                        }
                    }
                }
            }
        }
    }

    fn span(&self, one: Item<'_>, two: &Moved) -> Met {
        if let (Item::Triangle(s), Moved::Triangle(t)) = (one, two)
            && let Some(span) = triangle_span(s, t, self.direction, self.limit_mm)
        {
            return span.into();
        }
        match (one.part(), two.part()) {
            (Part::Convex(a), Part::Convex(b)) => match flat_span(&a, &b, self.direction) {
                Some(span) => span.into(),
                None => overlap_exit(&a, &b, self.direction)
                    .filter(|leave_mm| *leave_mm > self.at_mm)
                    .and_then(|leave_mm| Some((-overlap_exit(&a, &b, &-self.direction)?, leave_mm)))
                    .into(),
            },
            parts => Met::Bend(Box::new(parts)),
        }
    }
}

/// When two items overlap.
enum Met {
    Never,
    Between(f64, f64),
    Bend(Box<(Part, Part)>),
}

impl From<Option<(f64, f64)>> for Met {
    fn from(span: Option<(f64, f64)>) -> Self {
        span.map_or(Met::Never, |(enter_mm, leave_mm)| Met::Between(enter_mm, leave_mm))
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
