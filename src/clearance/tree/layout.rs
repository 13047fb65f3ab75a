//! How a tree lies in memory.

use nalgebra::{Matrix3, Point3, Vector3};

use super::lanes::F4;

/// What hangs under a box.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Child {
    Node(u32),
    /// Items `start .. start + count` of the tree's order.
    Items {
        start: u32,
        count: u32,
    },
}

/// Four children and their boxes; lanes without a child come last.
#[derive(Clone, Debug)]
#[repr(C, align(64))]
pub(crate) struct Node {
    /// x, y, z of the boxes' centres, from the tree's origin.
    pub center: [F4; 3],
    pub half: [F4; 3],
    /// `axes[3 * j + i]`: component i of edge j.
    pub axes: [F4; 9],
    codes: [u32; 4],
}

const NONE: u32 = u32::MAX;
const ITEMS: u32 = 1 << 31;

impl Node {
    pub const EMPTY: Node =
        Node { center: [F4::ZERO; 3], half: [F4::ZERO; 3], axes: [F4::ZERO; 9], codes: [NONE; 4] };

    #[inline]
    pub fn child(&self, lane: usize) -> Option<Child> {
        match self.codes[lane] {
            NONE => None,
            code if code & ITEMS != 0 => {
                Some(Child::Items { start: (code & !ITEMS) >> 4, count: (code & 15) + 1 })
            }
            code => Some(Child::Node(code)),
        }
    }

    #[inline]
    pub fn set(&mut self, lane: usize, child: Child, bounds: &Box32) {
        self.codes[lane] = match child {
            Child::Node(index) => index,
            Child::Items { start, count } => ITEMS | (start << 4) | (count - 1),
        };
        for i in 0..3 {
            self.center[i].0[lane] = bounds.center[i];
            self.half[i].0[lane] = bounds.half[i];
            for j in 0..3 {
                self.axes[3 * j + i].0[lane] = bounds.axes[(i, j)];
            }
        }
    }

    /// How many lanes have a child.
    #[inline]
    pub fn count(&self) -> usize {
        self.codes.iter().take_while(|code| **code != NONE).count()
    }

    /// Half diagonals.
    #[inline]
    pub fn sizes(&self) -> [f32; 4] {
        let [x, y, z] = self.half;
        (x * x + y * y + z * z).sqrt().0
    }

    #[inline]
    pub fn bounds(&self, lane: usize) -> Box32 {
        let mut axes = Matrix3::zeros();
        for j in 0..3 {
            for i in 0..3 {
                axes[(i, j)] = self.axes[3 * j + i].0[lane];
            }
        }
        Box32 {
            center: Vector3::new(self.center[0].0[lane], self.center[1].0[lane], self.center[2].0[lane]),
            axes,
            half: Vector3::new(self.half[0].0[lane], self.half[1].0[lane], self.half[2].0[lane]),
        }
    }
}

/// An oriented box, rounded outward.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Box32 {
    pub center: Vector3<f32>,
    /// Columns are the edges' directions.
    pub axes: Matrix3<f32>,
    pub half: Vector3<f32>,
}

/// A tree over the items of one solid.
#[derive(Clone, Debug)]
pub(crate) struct Tree {
    /// Where the f32 coordinates count from, in the solid's frame.
    pub origin: Point3<f64>,
    /// Greatest distance of any item's point from the origin.
    pub reach_mm: f64,
    /// Node 0 has one child: the whole. Empty when there are no items.
    pub nodes: Vec<Node>,
}

impl Tree {
    /// The box that a reference (`4 * node + lane`) names, and what is under it.
    #[inline]
    pub fn at(&self, reference: u32) -> (Box32, Option<Child>) {
        let node = &self.nodes[(reference >> 2) as usize];
        let lane = (reference & 3) as usize;
        (node.bounds(lane), node.child(lane))
    }

    #[inline]
    pub fn bounds(&self, reference: u32) -> Box32 {
        self.nodes[(reference >> 2) as usize].bounds((reference & 3) as usize)
    }

    #[inline]
    pub fn child(&self, reference: u32) -> Option<Child> {
        self.nodes[(reference >> 2) as usize].child((reference & 3) as usize)
    }

    /// The first item under a child.
    pub fn first_item(&self, mut child: Child) -> Option<u32> {
        loop {
            match child {
                Child::Items { start, .. } => return Some(start),
                Child::Node(node) => child = self.nodes[node as usize].child(0)?,
            }
        }
    }

    /// Bytes held.
    #[inline]
    pub fn bytes(&self) -> usize {
        self.nodes.len() * size_of::<Node>()
    }
}
