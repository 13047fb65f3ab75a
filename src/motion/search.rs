//! Best-first search over pairs of boxes, pairs of items and cells of movement values at once.
//!
//! Each entry has a proved lower bound on the gap of all that it stands for. The least is taken and
//! made smaller: the larger box is opened, or, when the movement over the cell is larger than the
//! boxes, the cell is halved. The search ends when the least bound is within the tolerance of the
//! best gap found, so the answer is proved whatever the order was.

use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::rc::Rc;

use nalgebra::{Point3, Vector3};

use super::Freedom;
use super::cell::{Share, Sway};
use super::over::{GapOver, Rider, at};
use crate::clearance::Gap;
use crate::clearance::bend::halves;
use crate::clearance::convex::{Convex, Core, nearest};
use crate::clearance::index::Index;
use crate::clearance::part::{Part, part_gap};
use crate::clearance::parting::parts_within;
use crate::clearance::tree::Child;
use crate::clearance::walk::{Outcome, least_gap};
use crate::space::Length;

/// Entries opened before the search gives up.
const BUDGET: usize = 400_000;

/// How often each freedom is tried at its ends for the deepest overlap.
const DEPTH_ROUNDS: usize = 2;

/// Values of both riders' freedoms.
pub(super) type Values = (Vec<f64>, Vec<f64>);

/// What a search came to.
pub(super) enum Ended {
    /// Every pose is at least this far, which is the limit or more.
    Clear { at_least_mm: f64 },
    /// The least gap is found at `values`.
    Found { lower_mm: f64, values: Values, settled: bool },
    /// The solids meet at `values`.
    Meeting { values: Values },
}

/// One side of an entry: a box of the tree, or an item of it.
#[derive(Clone, Debug)]
struct Lump {
    what: What,
    /// Convex, in the solid's frame; holds all of it.
    hull: Rc<Convex>,
    middle: Point3<f64>,
    radius_mm: f64,
}

#[derive(Clone, Debug)]
enum What {
    Box(u32),
    Item(Part),
}

struct Entry {
    lower_mm: f64,
    number: usize,
    a: Rc<Lump>,
    b: Rc<Lump>,
    cells: (Rc<Share>, Rc<Share>),
    sways: (Sway, Sway),
    /// The corners at which the bound is met.
    corners: (usize, usize),
}

impl PartialEq for Entry {
    fn eq(&self, other: &Self) -> bool {
        self.number == other.number
    }
}
impl Eq for Entry {}
impl PartialOrd for Entry {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Entry {
    fn cmp(&self, other: &Self) -> Ordering {
        other.lower_mm.total_cmp(&self.lower_mm).then(other.number.cmp(&self.number))
    }
}

pub(super) struct Search<'a> {
    fixed: &'a Rider<'a>,
    moving: &'a Rider<'a>,
    tolerance_mm: f64,
    /// Least gap found, or the limit.
    upper_mm: f64,
    values: Option<Values>,
    /// Both solids are one convex body: then overlaps have exact depths, and the search covers them.
    convex: bool,
    heap: BinaryHeap<Entry>,
    number: usize,
    /// Least bound among entries not kept.
    dropped_mm: f64,
}

impl<'a> Search<'a> {
    pub fn new(fixed: &'a Rider<'a>, moving: &'a Rider<'a>, limit_mm: f64, tolerance_mm: f64) -> Self {
        let single =
            |index: &Index| index.store.item_count() == 1 && matches!(index.store.part(0), Part::Convex(_));
        let convex = single(&fixed.shape.index) && single(&moving.shape.index);
        Search {
            fixed,
            moving,
            tolerance_mm,
            upper_mm: limit_mm,
            values: None,
            convex,
            heap: BinaryHeap::new(),
            number: 0,
            dropped_mm: f64::INFINITY,
        }
    }

    /// Looks at one pose with the whole solids; true when they meet there.
    pub fn offer(&mut self, fixed_values: &[f64], moving_values: &[f64]) -> bool {
        let (a, b) = (&self.fixed.shape.index, &self.moving.shape.index);
        let world_from_a = self.fixed.movement.world_from_rest(fixed_values) * self.fixed.world_from_solid;
        let world_from_b = self.moving.movement.world_from_rest(moving_values) * self.moving.world_from_solid;
        let found = match least_gap(a, b, &(world_from_a.inverse() * world_from_b), self.upper_mm.max(1e-9)) {
            Outcome::Beyond { .. } => return false,
            Outcome::Apart(found) | Outcome::Meeting(found) => found,
        };
        self.improve(found.nearest.gap_mm, || (fixed_values.to_vec(), moving_values.to_vec()));
        found.nearest.gap_mm <= 0.0
    }

    fn improve(&mut self, gap_mm: f64, values: impl FnOnce() -> Values) {
        if gap_mm < self.upper_mm {
            self.upper_mm = gap_mm;
            self.values = Some(values());
        }
    }

    pub fn run(&mut self) -> Ended {
        let cells = (
            Share::whole(self.fixed.movement, self.fixed.world_from_solid),
            Share::whole(self.moving.movement, self.moving.world_from_solid),
        );
        self.offer(&cells.0.middle(), &cells.1.middle());
        for (i, j) in [(0, 0), (cells.0.corners.len() - 1, cells.1.corners.len() - 1)] {
            self.offer(&cells.0.corner_values(i), &cells.1.corner_values(j));
        }
        let root = |rider: &Rider<'_>| Rc::new(boxed(&rider.shape.index, 0));
        self.push(root(self.fixed), root(self.moving), cells);
        for opened in 0.. {
            if self.upper_mm <= 0.0
                && !self.convex
                && let Some(values) = self.values.take()
            {
                return Ended::Meeting { values };
            }
            let Some(entry) = self.heap.pop() else { return self.end(f64::INFINITY, true) };
            if entry.lower_mm >= self.upper_mm - self.tolerance_mm && self.values.is_some() {
                return self.end(entry.lower_mm, true);
            }
            if opened >= BUDGET {
                return self.end(entry.lower_mm, false);
            }
            self.open(entry);
        }
        self.end(f64::NEG_INFINITY, false)
    }

    fn end(&mut self, least_mm: f64, settled: bool) -> Ended {
        let lower_mm = least_mm.min(self.dropped_mm);
        match self.values.take() {
            Some(values) => Ended::Found { lower_mm: lower_mm.min(self.upper_mm), values, settled },
            None if settled => Ended::Clear { at_least_mm: lower_mm },
            // Out of budget and nothing under the limit met: the middle of the movement stands in.
            None => Ended::Found {
                lower_mm,
                values: (middle_of(self.fixed), middle_of(self.moving)),
                settled: false,
            },
        }
    }

    /// Bounds a pair over a cell and keeps it if it could matter.
    fn push(&mut self, a: Rc<Lump>, b: Rc<Lump>, cells: (Rc<Share>, Rc<Share>)) {
        let sways = (
            cells.0.sway(self.fixed.movement, &a.middle, a.radius_mm),
            cells.1.sway(self.moving.movement, &b.middle, b.radius_mm),
        );
        let (middle_a, middle_b) = (cells.0.center * a.middle, cells.1.center * b.middle);
        // Far apart: balls about both, wherever they go, will do.
        let far =
            (middle_b - middle_a).norm() - a.radius_mm - b.radius_mm - sways.0.travel_mm - sways.1.travel_mm;
        let keep_under = self.keep_under();
        let (lower_mm, corners) = if far >= keep_under {
            (far, (0, 0))
        } else {
            let found = nearest(&a.hull.moved(&cells.0.center), &b.hull.moved(&cells.1.center));
            let excess = sways.0.excess_mm + sways.1.excess_mm;
            let (lower, corners) = along(&a.hull, &b.hull, &cells, &found.normal);
            (lower - excess, corners)
        };
        if lower_mm >= keep_under {
            self.dropped_mm = self.dropped_mm.min(lower_mm);
            return;
        }
        self.number += 1;
        self.heap.push(Entry { lower_mm, number: self.number, a, b, cells, sways, corners });
    }

    /// Bounds from here up need no further look.
    fn keep_under(&self) -> f64 {
        if self.values.is_some() { self.upper_mm - self.tolerance_mm } else { self.upper_mm }
    }

    fn open(&mut self, entry: Entry) {
        let Entry { a, b, cells, sways, corners, .. } = entry;
        let moves = (sways.0.travel_mm, sways.1.travel_mm);
        let travel = moves.0 + moves.1;
        let size = |lump: &Lump| match lump.what {
            What::Box(_) => lump.radius_mm,
            What::Item(_) => 0.0,
        };
        let (size_a, size_b) = (size(&a), size(&b));
        if size_a.max(size_b) > 0.0 && travel <= 2.0 * size_a.max(size_b) {
            let children = |rider: &Rider<'_>, lump: &Lump| match lump.what {
                What::Box(reference) => below(&rider.shape.index, reference),
                What::Item(_) => Vec::new(),
            };
            if size_a >= size_b {
                for child in children(self.fixed, &a) {
                    self.push(Rc::new(child), Rc::clone(&b), cells.clone());
                }
            } else {
                for child in children(self.moving, &b) {
                    self.push(Rc::clone(&a), Rc::new(child), cells.clone());
                }
            }
            return;
        }
        if let (What::Item(one), What::Item(two)) = (&a.what, &b.what) {
            self.look(one, two, &cells, corners);
            // A bend's own shape may hide more than the movement does: then it is what is halved.
            let excess = (bend_excess_mm(one), bend_excess_mm(two));
            let hidden = sways.0.excess_mm + sways.1.excess_mm + 1e-12;
            if excess.0.max(excess.1) > hidden.max(0.05 * self.tolerance_mm) {
                if excess.0 >= excess.1 {
                    for half in bend_halves(one) {
                        self.push(Rc::new(item(half)), Rc::clone(&b), cells.clone());
                    }
                } else {
                    for half in bend_halves(two) {
                        self.push(Rc::clone(&a), Rc::new(item(half)), cells.clone());
                    }
                }
                return;
            }
        }
        if moves.0 >= moves.1 {
            let halves = cells.0.halves(self.fixed.movement, self.fixed.world_from_solid, sways.0.most.0);
            for half in halves {
                self.push(Rc::clone(&a), Rc::clone(&b), (half, Rc::clone(&cells.1)));
            }
        } else {
            let halves = cells.1.halves(self.moving.movement, self.moving.world_from_solid, sways.1.most.0);
            for half in halves {
                self.push(Rc::clone(&a), Rc::clone(&b), (Rc::clone(&cells.0), half));
            }
        }
    }

    /// The true gap of two items at the middle of a cell and at the corner that looked worst.
    fn look(&mut self, a: &Part, b: &Part, cells: &(Rc<Share>, Rc<Share>), corners: (usize, usize)) {
        let middle = (cells.0.center, cells.1.center);
        let corner = (cells.0.corners[corners.0], cells.1.corners[corners.1]);
        let limit = |upper: f64| if upper.is_finite() { upper } else { f64::INFINITY };
        if let Some(found) = part_gap(&a.moved(&middle.0), &b.moved(&middle.1), limit(self.upper_mm)) {
            self.improve(found.gap_mm, || (cells.0.middle(), cells.1.middle()));
        }
        if let Some(found) = part_gap(&a.moved(&corner.0), &b.moved(&corner.1), limit(self.upper_mm)) {
            self.improve(found.gap_mm, || {
                (cells.0.corner_values(corners.0), cells.1.corner_values(corners.1))
            });
        }
    }

    /// Whether the solids part at these values by the push that parts them where they overlap most so far.
    fn parts_alike(&self, deepest: &Gap, values: &Values) -> bool {
        let world_from_a = self.fixed.movement.world_from_rest(&values.0) * self.fixed.world_from_solid;
        let world_from_b = self.moving.movement.world_from_rest(&values.1) * self.moving.world_from_solid;
        let a_from_world = world_from_a.inverse();
        parts_within(
            &self.fixed.shape.index,
            &self.moving.shape.index,
            &(a_from_world * world_from_b),
            &(a_from_world * deepest.witness.normal.into_inner()),
            1e-9 - deepest.gap.mm(),
        )
    }

    /// The deepest overlap met at some poses, with a bound that holds at all.
    pub fn overlapping(&self, mut poses: Vec<Values>) -> GapOver {
        let cells = (
            Share::whole(self.fixed.movement, self.fixed.world_from_solid),
            Share::whole(self.moving.movement, self.moving.world_from_solid),
        );
        poses.push((cells.0.middle(), cells.1.middle()));
        let mut worst: Option<(Gap, Values)> = None;
        let look = |values: Values, worst: &mut Option<(Gap, Values)>| {
            // Most poses are told by the way out of the deepest so far: what leads out of them as soon is no deeper.
            if worst.as_ref().is_some_and(|(deepest, _)| self.parts_alike(deepest, &values)) {
                return false;
            }
            let here = at(self.fixed, self.moving, &values.0, &values.1);
            let deeper = worst.as_ref().is_none_or(|(gap, _)| here.gap.mm() < gap.gap.mm() - 1e-9);
            if deeper {
                *worst = Some((here, values));
            }
            deeper
        };
        for values in poses {
            look(values, &mut worst);
        }
        // Each freedom to either end in turn, the others left where it was deepest.
        let ranges: Vec<(f64, f64)> = self
            .fixed
            .movement
            .freedoms
            .iter()
            .chain(&self.moving.movement.freedoms)
            .map(Freedom::range)
            .collect();
        let split = self.fixed.movement.freedoms.len();
        for _ in 0..DEPTH_ROUNDS {
            let mut deeper = false;
            for (freedom, (low, high)) in ranges.iter().enumerate() {
                for end in [*low, *high] {
                    let Some((_, mut values)) = worst.clone() else { continue };
                    let place = match freedom.checked_sub(split) {
                        None => values.0.get_mut(freedom),
                        Some(second) => values.1.get_mut(second),
                    };
                    if let Some(place) = place.filter(|place| **place != end) {
                        *place = end;
                        deeper |= look(values, &mut worst);
                    }
                }
            }
            if !deeper {
                break;
            }
        }
        let (a, b) = (boxed(&self.fixed.shape.index, 0), boxed(&self.moving.shape.index, 0));
        let excess = cells.0.sway(self.fixed.movement, &a.middle, a.radius_mm).excess_mm
            + cells.1.sway(self.moving.movement, &b.middle, b.radius_mm).excess_mm;
        let mut directions = vec![Vector3::x(), Vector3::y(), Vector3::z()];
        directions.extend(worst.as_ref().map(|(gap, _)| gap.witness.normal.into_inner()));
        // A push that clears both solids' boxes over the whole movement parts them at every pose of it.
        let lower_mm = directions
            .iter()
            .flat_map(|n| [*n, -n])
            .map(|n| along(&a.hull, &b.hull, &cells, &n).0 - excess)
            .fold(f64::NEG_INFINITY, f64::max);
        let (upper, values) = worst.unwrap_or_else(|| {
            let values = (cells.0.middle(), cells.1.middle());
            (at(self.fixed, self.moving, &values.0, &values.1), values)
        });
        let lower_mm = lower_mm.min(upper.gap.mm());
        GapOver {
            lower: Length::from_mm(lower_mm),
            settled: upper.gap.mm() - lower_mm <= self.tolerance_mm,
            upper,
            fixed_values: values.0,
            moving_values: values.1,
        }
    }
}

/// Least separation along a direction over the corners of a cell, and the corners where it is met.
fn along(a: &Convex, b: &Convex, cells: &(Rc<Share>, Rc<Share>), n: &Vector3<f64>) -> (f64, (usize, usize)) {
    let (reach_a, i) = cells.0.reach(a, n);
    let (reach_b, j) = cells.1.reach(b, &-n);
    (-reach_b - reach_a, (i, j))
}

fn middle_of(rider: &Rider<'_>) -> Vec<f64> {
    rider
        .movement
        .freedoms
        .iter()
        .map(|freedom| freedom.range())
        .map(|(low, high)| (low + high) / 2.0)
        .collect()
}

/// A box of the tree as a convex body.
fn boxed(index: &Index, reference: u32) -> Lump {
    let (bounds, _) = index.tree.at(reference);
    let center = index.tree.origin + bounds.center.map(f64::from);
    let hull = Convex::new(
        Core::Block { center, axes: bounds.axes.map(f64::from), half_mm: bounds.half.map(f64::from) },
        0.0,
    );
    let radius_mm = bounds.half.map(f64::from).norm() * (1.0 + 1e-6);
    Lump { what: What::Box(reference), hull: Rc::new(hull), middle: center, radius_mm }
}

fn item(part: Part) -> Lump {
    let hull = part.hull();
    let middle = part.anchor();
    let half = [Vector3::x(), Vector3::y(), Vector3::z()].map(|axis| {
        let at = middle.coords.dot(&axis);
        (hull.reach(&axis) - at).max(hull.reach(&-axis) + at)
    });
    Lump { what: What::Item(part), hull: Rc::new(hull), middle, radius_mm: Vector3::from(half).norm() }
}

/// What hangs under a box.
fn below(index: &Index, reference: u32) -> Vec<Lump> {
    match index.tree.child(reference) {
        None => Vec::new(),
        Some(Child::Items { start, count }) => {
            (start..start + count).map(|i| item(index.store.part(i))).collect()
        }
        Some(Child::Node(node)) => (0..4)
            .filter(|lane| index.tree.nodes[node as usize].child(*lane).is_some())
            .map(|lane| boxed(index, node * 4 + lane as u32))
            .collect(),
    }
}

/// How far a bend's hull reaches beyond it on the hollow side, at most.
fn bend_excess_mm(part: &Part) -> f64 {
    match part {
        Part::Convex(_) => 0.0,
        Part::Bend(bend) => {
            let quarter = (bend.sweep_rad() / 4.0).min(std::f64::consts::FRAC_PI_2);
            (bend.ring_mm + bend.tube_mm) * 2.0 * quarter.sin().powi(2)
        }
    }
}

fn bend_halves(part: &Part) -> Vec<Part> {
    match part {
        Part::Convex(_) => vec![part.clone()],
        Part::Bend(bend) => halves(bend).map(Part::Bend).to_vec(),
    }
}
