//! A tree of boxes over many small things, for asking about one point or one ray at a time.
//!
//! Serves the questions inside this room: closest point and inside of a mesh or cloud. Leaves to
//! others: distance between two solids (`clearance` has trees of its own).

use nalgebra::{Point3, Vector3};

use crate::space::Bounds;

/// Things under one lowest node.
const LEAF: usize = 4;

#[derive(Clone, Debug)]
struct Node {
    bounds: Bounds,
    /// Of a lowest node the first place in `order`, else the node of the second child (the first
    /// child follows its parent).
    next: u32,
    /// Things held; zero for a node with children.
    count: u32,
}

/// Boxes in a binary tree, laid out depth first.
#[derive(Clone, Debug, Default)]
pub(super) struct BoxTree {
    nodes: Vec<Node>,
    order: Vec<u32>,
}

impl BoxTree {
    /// Builds over things known by their boxes, halving at the middle one along the longest side.
    pub(super) fn new(boxes: &[Bounds]) -> Self {
        let mut tree = BoxTree { nodes: Vec::new(), order: (0..boxes.len() as u32).collect() };
        if !boxes.is_empty() {
            tree.nodes.reserve(boxes.len() / 2 + 1);
            let mut order = std::mem::take(&mut tree.order);
            tree.split(boxes, &mut order, 0);
            tree.order = order;
        }
        tree
    }

    /// Depth is at most the logarithm of the count: every split halves.
    fn split(&mut self, boxes: &[Bounds], order: &mut [u32], first: usize) {
        let (mut bounds, mut middles) = (Bounds::EMPTY, Bounds::EMPTY);
        for &index in order.iter() {
            let one = &boxes[index as usize];
            bounds = bounds.union(one);
            middles = middles.with(&one.center());
        }
        let here = self.nodes.len();
        if order.len() <= LEAF {
            self.nodes.push(Node { bounds, next: first as u32, count: order.len() as u32 });
            return;
        }
        self.nodes.push(Node { bounds, next: 0, count: 0 });
        let axis = middles.size().imax();
        let half = order.len() / 2;
        let key = |index: u32| boxes[index as usize].min[axis] + boxes[index as usize].max[axis];
        order.select_nth_unstable_by(half, |&a, &b| key(a).total_cmp(&key(b)).then(a.cmp(&b)));
        let (left, right) = order.split_at_mut(half);
        self.split(boxes, left, first);
        self.nodes[here].next = self.nodes.len() as u32;
        self.split(boxes, right, first + half);
    }

    /// Visits things whose box lies within the bound, the nearer box first. `visit` returns the bound
    /// from then on: the least distance found so far, or zero to see only boxes that hold the point.
    pub(super) fn nearest(&self, point: &Point3<f64>, bound_mm: f64, mut visit: impl FnMut(u32) -> f64) {
        let mut bound = bound_mm;
        let mut stack: Vec<(f64, u32)> = Vec::with_capacity(64);
        if let Some(root) = self.nodes.first() {
            stack.push((root.bounds.distance_mm(point), 0));
        }
        while let Some((distance, index)) = stack.pop() {
            if distance > bound {
                continue;
            }
            let node = &self.nodes[index as usize];
            if node.count > 0 {
                for &thing in &self.order[node.next as usize..(node.next + node.count) as usize] {
                    bound = bound.min(visit(thing));
                }
                continue;
            }
            let [one, other] = [index + 1, node.next]
                .map(|child| (self.nodes[child as usize].bounds.distance_mm(point), child));
            let (near, far) = if other.0 < one.0 { (other, one) } else { (one, other) };
            stack.extend([far, near].into_iter().filter(|child| child.0 <= bound));
        }
    }

    /// Visits things whose box a half-line meets, until `visit` says to stop.
    pub(super) fn along_ray(
        &self,
        from: &Point3<f64>,
        along: &Vector3<f64>,
        mut visit: impl FnMut(u32) -> std::ops::ControlFlow<()>,
    ) {
        let inverse = along.map(|part| 1.0 / part);
        let mut stack: Vec<u32> = Vec::with_capacity(64);
        if !self.nodes.is_empty() {
            stack.push(0);
        }
        while let Some(index) = stack.pop() {
            let node = &self.nodes[index as usize];
            if !meets_ray(&node.bounds, from, &inverse) {
                continue;
            }
            if node.count == 0 {
                stack.extend([node.next, index + 1]);
                continue;
            }
            for &thing in &self.order[node.next as usize..(node.next + node.count) as usize] {
                if visit(thing).is_break() {
                    return;
                }
            }
        }
    }
}

/// Widened a little, so that rounding never loses a box.
fn meets_ray(bounds: &Bounds, from: &Point3<f64>, inverse: &Vector3<f64>) -> bool {
    let (mut enter, mut leave) = (0.0_f64, f64::INFINITY);
    for axis in 0..3 {
        let size = bounds.min[axis].abs().max(bounds.max[axis].abs()).max(from[axis].abs());
        let slack = 1e-14 * size;
        let one = (bounds.min[axis] - slack - from[axis]) * inverse[axis];
        let other = (bounds.max[axis] + slack - from[axis]) * inverse[axis];
        enter = enter.max(one.min(other));
        leave = leave.min(one.max(other));
    }
    enter <= leave * (1.0 + 1e-14)
}
