//! The cheapest chain of boxes from the point to an open side.
//!
//! Boxes whose greatest clearance is under the radius asked about are closed. Boxes where a good
//! place is known cost the distance walked; doubtful ones cost more, so that a chain has few of
//! them, and always much the same few.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use nalgebra::{Point3, Unit, Vector3};

use crate::access::outside::axis_of;
use crate::space::{Bounds, Direction};

use super::tree::Tree;

/// A doubtful box's step costs this many times its length, and this share of its size on top.
const DOUBT_STEP: f64 = 6.0;
const DOUBT_SIZE: f64 = 2.0;

/// What a walk wants.
pub(super) struct WalkAsk<'a> {
    pub target: Point3<f64>,
    /// A box this near the target may be the last.
    pub touch_mm: f64,
    /// And it must reach before the plane through the target that this stands on.
    pub from_side: Option<Unit<Vector3<f64>>>,
    /// Boxes with a greatest clearance under this are closed.
    pub radius_mm: f64,
    /// Boxes with a place this clear are good.
    pub good_mm: f64,
    pub sides: &'a [Direction],
    /// What leaving at a place costs, mm.
    pub leave: &'a dyn Fn(&Point3<f64>) -> f64,
}

/// A part of the way, looked at alone.
#[derive(Clone, Copy)]
pub(super) struct Part {
    /// Boxes that do not meet this are left out.
    pub window: Bounds,
    /// Begins in this box; at the target when none.
    pub first: Option<u32>,
    /// Ends in this box; at an open side when none.
    pub last: Option<u32>,
}

/// From the box at the point to the box at the open side.
pub(super) struct Route {
    pub cells: Vec<u32>,
    /// The side by which the last box is left; none for a part that ends in a box.
    pub side: Option<Direction>,
}

/// What a walk that found no way out ran into.
pub(super) struct Closed {
    /// The closed box with the greatest clearance among those next to where the walk came.
    pub widest: Option<u32>,
}

/// Arrays kept between walks.
#[derive(Default)]
pub(super) struct Walker {
    cost: Vec<f64>,
    from: Vec<u32>,
    stamp: Vec<u32>,
    walk: u32,
    heap: BinaryHeap<Step>,
    near: Vec<u32>,
    pub walks: usize,
}

#[derive(PartialEq)]
struct Step {
    cost: f64,
    cell: u32,
    /// Leaves through this side instead of entering the cell.
    leave: Option<Direction>,
}

impl Eq for Step {}

impl Ord for Step {
    fn cmp(&self, other: &Self) -> Ordering {
        // The heap gives its greatest: turn the cost round. Ties by number keep runs alike.
        other.cost.total_cmp(&self.cost).then(other.cell.cmp(&self.cell))
    }
}

impl PartialOrd for Step {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

const START: u32 = u32::MAX;

impl Walker {
    /// The cheapest chain, or what closed every one; of the whole way or of a part of it.
    pub fn walk(&mut self, tree: &Tree, ask: &WalkAsk<'_>, part: Option<Part>) -> Result<Route, Closed> {
        self.walks += 1;
        self.walk += 1;
        self.cost.resize(tree.cells.len(), 0.0);
        self.from.resize(tree.cells.len(), 0);
        self.stamp.resize(tree.cells.len(), 0);
        self.heap.clear();
        let mut closed = Closed { widest: None };
        let upper = |cell: u32| tree.cells[cell as usize].upper_mm;
        let outside = |cell: u32| {
            part.is_some_and(|part| part.last != Some(cell) && tree.bounds(cell).gap_mm(&part.window) > 0.0)
        };
        let mut first = Vec::new();
        match part.and_then(|part| part.first) {
            Some(cell) => first.push(cell),
            None => {
                tree.within(&ask.target, ask.touch_mm, &mut first);
                if let Some(side) = ask.from_side {
                    let before_mm = |corner: &Point3<f64>| (corner - ask.target).dot(&side);
                    first.retain(|cell| tree.bounds(*cell).corners().iter().any(|c| before_mm(c) >= 0.0));
                }
            }
        }
        for cell in first {
            if upper(cell) < ask.radius_mm {
                closed.consider(tree, cell);
            } else if !outside(cell) {
                let there = tree.cells[cell as usize].best.at;
                let step = (there - ask.target).norm() + self.doubt(tree, ask, cell, 0.0);
                self.offer(cell, step, START);
            }
        }
        let last = part.and_then(|part| part.last);
        while let Some(Step { cost, cell, leave }) = self.heap.pop() {
            if let Some(side) = leave {
                return Ok(Route { cells: self.back(cell), side: Some(side) });
            }
            if last == Some(cell) {
                return Ok(Route { cells: self.back(cell), side: None });
            }
            if cost > self.cost[cell as usize] {
                continue;
            }
            let here = tree.cells[cell as usize].best.at;
            for &side in ask.sides.iter().filter(|_| last.is_none()) {
                let (axis, at_max) = axis_of(side);
                if tree.at_side(cell, axis, at_max) {
                    let out = on_side(tree, cell, axis, at_max, &here);
                    let cost = cost + (out - here).norm() + (ask.leave)(&out);
                    self.heap.push(Step { cost, cell, leave: Some(side) });
                }
            }
            let mut near = std::mem::take(&mut self.near);
            near.clear();
            tree.neighbours(cell, &mut near);
            for &next in &near {
                if upper(next) < ask.radius_mm {
                    closed.consider(tree, next);
                    continue;
                }
                if outside(next) {
                    continue;
                }
                let length = (tree.cells[next as usize].best.at - here).norm();
                let step = length + self.doubt(tree, ask, next, length);
                self.offer(next, cost + step, cell);
            }
            self.near = near;
        }
        Err(closed)
    }

    fn doubt(&self, tree: &Tree, ask: &WalkAsk<'_>, cell: u32, length: f64) -> f64 {
        if tree.cells[cell as usize].best.clear_mm >= ask.good_mm {
            0.0
        } else {
            (DOUBT_STEP - 1.0) * length + DOUBT_SIZE * tree.half(cell).norm()
        }
    }

    fn offer(&mut self, cell: u32, cost: f64, from: u32) {
        let i = cell as usize;
        if self.stamp[i] == self.walk && self.cost[i] <= cost {
            return;
        }
        self.stamp[i] = self.walk;
        self.cost[i] = cost;
        self.from[i] = from;
        self.heap.push(Step { cost, cell, leave: None });
    }

    fn back(&self, last: u32) -> Vec<u32> {
        let mut cells = vec![last];
        let mut cell = self.from[last as usize];
        while cell != START {
            cells.push(cell);
            cell = self.from[cell as usize];
        }
        cells.reverse();
        cells
    }
}

impl Closed {
    fn consider(&mut self, tree: &Tree, cell: u32) {
        let upper = |cell: u32| tree.cells[cell as usize].upper_mm;
        if self.widest.is_none_or(|widest| upper(cell) > upper(widest)) {
            self.widest = Some(cell);
        }
    }
}

/// The place of a box's outer side straight across from `here`.
pub(super) fn on_side(tree: &Tree, cell: u32, axis: usize, at_max: bool, here: &Point3<f64>) -> Point3<f64> {
    let bounds = tree.bounds(cell);
    let mut out = *here;
    out[axis] = if at_max { bounds.max[axis] } else { bounds.min[axis] };
    out
}
