//! A tree of poses, and the nearest of them to another.

use nalgebra::Vector3;

use super::mover::{Mover, Step};
use crate::space::Pose;

/// A node's place among the others: shift, and turn as a quaternion, both in millimetres.
pub(super) type Key = [f32; 7];

/// One pose.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub pose: Pose,
    /// The one that it was reached from; itself for a root.
    pub parent: u32,
    /// Samples farther than this are not for it, mm; shrinks when it is stopped.
    pub radius_mm: f32,
    /// How often it was picked.
    pub tries: u32,
    /// Whether the step from its parent is proved.
    pub proved: bool,
}

/// A tree that grows; some nodes are only on the way and are never found as nearest.
#[derive(Clone, Debug, Default)]
pub(super) struct Tree {
    pub nodes: Vec<Node>,
    /// Those that may be found.
    pub found: Vec<u32>,
    places: Vec<Place>,
    /// Size at which the places are sorted anew.
    sort_at: usize,
}

#[derive(Clone, Copy, Debug)]
struct Place {
    key: Key,
    node: u32,
    axis: u8,
    below: u32,
    above: u32,
}

const NONE: u32 = u32::MAX;

/// Where a pose lies.
pub(super) fn key_of(mover: &Mover, pose: &Pose) -> Key {
    let t = &pose.translation.vector;
    // Two quaternions differ by half the angle between the turns.
    let q = pose.rotation.coords * (2.0 * mover.spread_mm);
    [t.x as f32, t.y as f32, t.z as f32, q.x as f32, q.y as f32, q.z as f32, q.w as f32]
}

/// The distance by which trees grow, mm.
pub(super) fn apart_mm(mover: &Mover, from: &Pose, to: &Pose) -> f64 {
    let step = Step::new(from, to);
    scaled(mover, &step).norm()
}

/// Shift and turn of a step, both in millimetres.
pub(super) fn scaled(mover: &Mover, step: &Step) -> nalgebra::Vector6<f64> {
    let turn: Vector3<f64> = step.turn * mover.spread_mm;
    nalgebra::Vector6::new(step.shift.x, step.shift.y, step.shift.z, turn.x, turn.y, turn.z)
}

impl Tree {
    pub fn rooted(mover: &Mover, pose: &Pose) -> Self {
        let mut tree = Tree { sort_at: 256, ..Tree::default() };
        tree.add(mover, pose, 0, true);
        tree
    }

    pub fn add(&mut self, mover: &Mover, pose: &Pose, parent: u32, may_be_found: bool) -> u32 {
        let number = self.nodes.len() as u32;
        self.nodes.push(Node { pose: *pose, parent, radius_mm: f32::INFINITY, tries: 0, proved: false });
        if may_be_found {
            self.show(mover, number);
        }
        number
    }

    /// Lets a node be found from now on.
    pub fn show(&mut self, mover: &Mover, number: u32) {
        self.found.push(number);
        let key = key_of(mover, &self.nodes[number as usize].pose);
        self.places.push(Place { key, node: number, axis: 0, below: NONE, above: NONE });
        if self.places.len() >= self.sort_at {
            self.sort();
        } else {
            self.hang(self.places.len() - 1);
        }
    }

    fn hang(&mut self, new: usize) {
        if new == 0 {
            return;
        }
        let key = self.places[new].key;
        let mut at = 0usize;
        loop {
            let place = &mut self.places[at];
            let axis = place.axis as usize;
            let next = if key[axis] < place.key[axis] { &mut place.below } else { &mut place.above };
            if *next == NONE {
                *next = new as u32;
                let axis = (place.axis + 1) % 7;
                self.places[new].axis = axis;
                return;
            }
            at = *next as usize;
        }
    }

    /// Halves at the median of the widest axis throughout.
    fn sort(&mut self) {
        let mut places = std::mem::take(&mut self.places);
        let count = places.len();
        let mut out = Vec::with_capacity(count * 2);
        // Each: a range still to be sorted, and where its number is to be written.
        let mut open = vec![(0usize, count, NONE, false)];
        while let Some((from, to, parent, above)) = open.pop() {
            if from >= to {
                continue;
            }
            let some = &mut places[from..to];
            let mut widest = (0usize, -1.0f32);
            for axis in 0..7 {
                let (low, high) = some.iter().fold((f32::INFINITY, f32::NEG_INFINITY), |(l, h), p| {
                    (l.min(p.key[axis]), h.max(p.key[axis]))
                });
                if high - low > widest.1 {
                    widest = (axis, high - low);
                }
            }
            let half = some.len() / 2;
            let axis = widest.0;
            some.select_nth_unstable_by(half, |p, q| {
                p.key[axis].total_cmp(&q.key[axis]).then(p.node.cmp(&q.node))
            });
            // Equals of the median must all lie above it.
            let pivot = some[half].key[axis];
            let mut first = half;
            for i in (0..half).rev() {
                if some[i].key[axis] >= pivot {
                    first -= 1;
                    some.swap(i, first);
                }
            }
            let number = out.len() as u32;
            out.push(Place { axis: axis as u8, below: NONE, above: NONE, ..some[first] });
            if parent != NONE {
                let parent: &mut Place = &mut out[parent as usize];
                if above { parent.above = number } else { parent.below = number }
            }
            open.push((from, from + first, number, false));
            open.push((from + first + 1, to, number, true));
        }
        self.places = out;
        self.sort_at = count * 2;
    }

    /// The nearest node that may be found, and its distance, mm.
    pub fn nearest(&self, mover: &Mover, pose: &Pose) -> (u32, f64) {
        let key = key_of(mover, pose);
        let mut best = (0u32, f32::INFINITY);
        self.search(&key, &mut best);
        // The same turn has a second quaternion.
        let [x, y, z, a, b, c, d] = key;
        self.search(&[x, y, z, -a, -b, -c, -d], &mut best);
        (best.0, f64::from(best.1).sqrt())
    }

    fn search(&self, key: &Key, best: &mut (u32, f32)) {
        if self.places.is_empty() {
            return;
        }
        let mut open: Vec<(u32, f32)> = Vec::with_capacity(64);
        open.push((0, 0.0));
        while let Some((at, bound)) = open.pop() {
            if bound >= best.1 {
                continue;
            }
            let place = &self.places[at as usize];
            let far: f32 = key.iter().zip(&place.key).map(|(a, b)| (a - b) * (a - b)).sum();
            if far < best.1 {
                *best = (place.node, far);
            }
            let off = key[place.axis as usize] - place.key[place.axis as usize];
            let (near, other) =
                if off < 0.0 { (place.below, place.above) } else { (place.above, place.below) };
            if other != NONE {
                open.push((other, bound.max(off * off)));
            }
            if near != NONE {
                open.push((near, bound));
            }
        }
    }

    /// Nodes from the root to a node, both included.
    pub fn ancestors(&self, node: u32) -> Vec<u32> {
        let mut line = vec![node];
        let mut at = node;
        while self.nodes[at as usize].parent != at {
            at = self.nodes[at as usize].parent;
            line.push(at);
        }
        line.reverse();
        line
    }

    /// Poses from the root to a node.
    pub fn line_to(&self, node: u32) -> Vec<Pose> {
        self.ancestors(node).into_iter().map(|node| self.nodes[node as usize].pose).collect()
    }

    /// Takes off a node and all that hangs on it.
    pub fn cut(&mut self, mover: &Mover, node: u32) {
        self.drop_where(mover, |at, _| at == node);
    }

    /// Takes off the nodes that a rule names, and all that hangs on them.
    fn drop_where(&mut self, mover: &Mover, off: impl Fn(u32, &Node) -> bool) {
        let mut number = vec![NONE; self.nodes.len()];
        let mut kept = Vec::with_capacity(self.nodes.len());
        // A parent always stands before its children.
        for (at, old) in self.nodes.iter().enumerate() {
            let is_root = old.parent as usize == at;
            if off(at as u32, old) || (!is_root && number[old.parent as usize] == NONE) {
                continue;
            }
            number[at] = kept.len() as u32;
            let parent = number[old.parent as usize];
            kept.push(Node { parent: if is_root { number[at] } else { parent }, ..old.clone() });
        }
        let found: Vec<u32> =
            self.found.iter().map(|old| number[*old as usize]).filter(|new| *new != NONE).collect();
        *self = Tree { nodes: kept, sort_at: 256, ..Tree::default() };
        for number in found {
            self.show(mover, number);
        }
    }

    /// Moves all that is joined to a node into another tree, under a node there that stands at the same pose.
    pub fn hand_over(&mut self, mover: &Mover, node: u32, into: &mut Tree, under: u32) {
        let count = self.nodes.len();
        // The root of every node, and children.
        let mut root = vec![NONE; count];
        let mut first_child = vec![NONE; count];
        let mut next_child = vec![NONE; count];
        for at in 0..count {
            let parent = self.nodes[at].parent as usize;
            if parent == at {
                root[at] = at as u32;
            } else {
                root[at] = root[parent];
                next_child[at] = first_child[parent];
                first_child[parent] = at as u32;
            }
        }
        let mut shown = vec![false; count];
        self.found.iter().for_each(|at| shown[*at as usize] = true);
        let mine = root[node as usize];
        // Each: a node, the one it was come from, what that is in the other tree, and whether the step is proved.
        let mut open = vec![(node, NONE, under, true)];
        while let Some((at, from, parent, proved)) = open.pop() {
            let here = if from == NONE {
                parent
            } else {
                let here = into.add(mover, &self.nodes[at as usize].pose, parent, shown[at as usize]);
                into.nodes[here as usize].proved = proved;
                here
            };
            let up = self.nodes[at as usize].parent;
            if up != at && up != from {
                open.push((up, at, here, self.nodes[at as usize].proved));
            }
            let mut child = first_child[at as usize];
            while child != NONE {
                if child != from {
                    open.push((child, at, here, self.nodes[child as usize].proved));
                }
                child = next_child[child as usize];
            }
        }
        self.drop_where(mover, |at, _| root[at as usize] == mine);
    }
}
