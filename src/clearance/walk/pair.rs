//! Two solids as they stand to each other, and what is under a pair of their boxes.

use nalgebra::{Matrix3, Point3, Vector3};

use super::super::index::Index;
use super::super::tree::{Box32, Child, Frame32, Node, Relative, boxes_below};
use crate::space::Pose;

/// A pair of boxes still to be looked at.
#[derive(Clone, Copy, Debug)]
pub(super) struct Open {
    /// Lower bound of the gap of all that is in them; for boxes that meet, below zero.
    pub key: f32,
    /// `4 * node + lane` in either tree.
    pub a: u32,
    pub b: u32,
    /// Half diagonals: the larger box is opened first.
    pub size_a: f32,
    pub size_b: f32,
}

/// Items of the first solid, and of the second: start and count.
pub(super) type Leaves = ((u32, u32), (u32, u32));

/// What is under a pair of boxes.
pub(super) enum Under {
    Leaves(Leaves),
    Boxes,
}

/// Two solids as they stand to each other.
pub(super) struct Pair<'a> {
    pub a: &'a Index,
    pub b: &'a Index,
    pub a_from_b: &'a Pose,
    pub relative: Relative,
    /// The pose as a matrix, which moves points faster than a quaternion does.
    pub turn: Matrix3<f64>,
    pub shift: Vector3<f64>,
}

impl<'a> Pair<'a> {
    pub fn new(a: &'a Index, b: &'a Index, a_from_b: &'a Pose) -> Self {
        let turn = Matrix3::from(a_from_b.rotation.to_rotation_matrix());
        let shift = a_from_b.translation.vector;
        let relative = Relative::of_matrix(&a.tree, &b.tree, &turn, &shift);
        Pair { a, b, a_from_b, relative, turn, shift }
    }

    #[inline]
    pub fn moved(&self, p: &Point3<f64>) -> Point3<f64> {
        Point3::from(self.turn * p.coords + self.shift)
    }

    pub fn top(&self) -> Open {
        let (whole_a, whole_b) = (&self.a.tree.nodes[0], &self.b.tree.nodes[0]);
        let key = boxes_below(&whole_a.bounds(0), &self.relative.a_from_b, whole_b, self.relative.slack)[0];
        Open { key, a: 0, b: 0, size_a: whole_a.sizes()[0], size_b: whole_b.sizes()[0] }
    }

    /// The items of two leaves, when it is a pair of leaves.
    #[inline]
    pub fn leaves(&self, open: &Open) -> Option<Leaves> {
        match (self.a.tree.child(open.a), self.b.tree.child(open.b)) {
            (Some(Child::Items { start: sa, count: na }), Some(Child::Items { start: sb, count: nb })) => {
                Some(((sa, na), (sb, nb)))
            }
            _ => None,
        }
    }

    /// Opens the larger box of a pair and gives the pairs of its children to `into`, or names the items of two
    /// leaves.
    #[inline(always)]
    pub fn open_with(
        &self,
        open: &Open,
        bounds: impl Fn(&Box32, &Frame32, &Node, f32) -> [f32; 4],
        mut into: impl FnMut(Open),
    ) -> Under {
        let slack = self.relative.slack;
        let (node, opens_a) = match (self.a.tree.child(open.a), self.b.tree.child(open.b)) {
            (Some(Child::Node(node)), Some(Child::Node(other))) => {
                if open.size_a >= open.size_b {
                    (node, true)
                } else {
                    (other, false)
                }
            }
            (Some(Child::Items { start: sa, count: na }), Some(Child::Items { start: sb, count: nb })) => {
                return Under::Leaves(((sa, na), (sb, nb)));
            }
            (Some(Child::Node(node)), _) => (node, true),
            (_, Some(Child::Node(node))) => (node, false),
            _ => return Under::Boxes,
        };
        if opens_a {
            let four = &self.a.tree.nodes[node as usize];
            let keys = bounds(&self.b.tree.bounds(open.b), &self.relative.b_from_a, four, slack);
            let sizes = four.sizes();
            for lane in 0..four.count() {
                into(Open { key: keys[lane], a: node * 4 + lane as u32, size_a: sizes[lane], ..*open });
            }
        } else {
            let four = &self.b.tree.nodes[node as usize];
            let keys = bounds(&self.a.tree.bounds(open.a), &self.relative.a_from_b, four, slack);
            let sizes = four.sizes();
            for lane in 0..four.count() {
                into(Open { key: keys[lane], b: node * 4 + lane as u32, size_b: sizes[lane], ..*open });
            }
        }
        Under::Boxes
    }

    /// As [`Self::open_with`], by the gaps of boxes.
    #[inline]
    pub fn open(&self, open: &Open, into: impl FnMut(Open)) -> Under {
        self.open_with(open, boxes_below, into)
    }
}

/// Whether the first of two boxes is the one to open: the larger, or the only one that can be.
pub(crate) fn descends_first(a: &Box32, b: &Box32, child_b: Option<Child>) -> bool {
    !matches!(child_b, Some(Child::Node(_))) || a.half.norm_squared() >= b.half.norm_squared()
}

/// A brood of at most four, kept with the one to look at first at its end.
pub(super) struct Brood {
    pairs: [Open; 4],
    count: usize,
}

impl Brood {
    pub fn new() -> Self {
        let none = Open { key: 0.0, a: 0, b: 0, size_a: 0.0, size_b: 0.0 };
        Brood { pairs: [none; 4], count: 0 }
    }

    /// Puts a pair in its place: the greater keys first, and among equals the later.
    #[inline]
    pub fn add(&mut self, open: Open) {
        let mut at = self.count.min(3);
        while at > 0 && self.pairs[at - 1].key <= open.key {
            self.pairs[at] = self.pairs[at - 1];
            at -= 1;
        }
        self.pairs[at] = open;
        self.count += 1;
    }

    #[inline]
    pub fn pairs(&self) -> &[Open] {
        &self.pairs[..self.count]
    }
}
