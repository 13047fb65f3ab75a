//! Which bodies are near: a binary tree over their boxes.

use crate::space::Bounds;

/// Leaves hold this many boxes at most.
const LEAF: usize = 2;

#[derive(Clone, Debug)]
struct Node {
    bounds: Bounds,
    /// A leaf: first place in `order` and how many. An inner node: its two children.
    content: Content,
}

#[derive(Clone, Debug)]
enum Content {
    Leaf { first: usize, count: usize },
    Inner { left: usize, right: usize },
}

/// A tree over boxes, built once.
#[derive(Clone, Debug)]
pub(super) struct BoxTree {
    nodes: Vec<Node>,
    order: Vec<usize>,
}

impl BoxTree {
    /// Halves the boxes at the median of their centres along the longest edge, again and again.
    pub fn new(boxes: &[Bounds]) -> Self {
        let order: Vec<usize> = (0..boxes.len()).filter(|i| !boxes[*i].is_empty()).collect();
        let count = order.len();
        let mut tree = BoxTree { nodes: Vec::new(), order };
        if count > 0 {
            tree.build(boxes, 0, count);
        }
        tree
    }

    fn build(&mut self, boxes: &[Bounds], first: usize, count: usize) -> usize {
        let range = first..first + count;
        let bounds = self.order[range.clone()].iter().fold(Bounds::EMPTY, |all, i| all.union(&boxes[*i]));
        let node = self.nodes.len();
        self.nodes.push(Node { bounds, content: Content::Leaf { first, count } });
        if count > LEAF {
            let axis = bounds.size().imax();
            self.order[range]
                .sort_by(|a, b| boxes[*a].center()[axis].total_cmp(&boxes[*b].center()[axis]).then(a.cmp(b)));
            let left = self.build(boxes, first, count / 2);
            let right = self.build(boxes, first + count / 2, count - count / 2);
            self.nodes[node].content = Content::Inner { left, right };
        }
        node
    }

    /// Visits boxes, roughly the nearest first, whose `distance` is at most what the visits return;
    /// `far` starts it.
    pub fn visit(
        &self,
        distance: impl Fn(&Bounds) -> f64,
        mut far: f64,
        mut visit: impl FnMut(usize) -> f64,
    ) {
        let Some(root) = self.nodes.first() else { return };
        let mut stack = Vec::with_capacity(32);
        stack.push((0, distance(&root.bounds)));
        while let Some((node, at)) = stack.pop() {
            if at > far {
                continue;
            }
            match self.nodes[node].content {
                Content::Leaf { first, count } => {
                    for i in &self.order[first..first + count] {
                        far = visit(*i);
                    }
                }
                Content::Inner { left, right } => {
                    let (a, b) = (distance(&self.nodes[left].bounds), distance(&self.nodes[right].bounds));
                    if a <= b {
                        stack.push((right, b));
                        stack.push((left, a));
                    } else {
                        stack.push((left, a));
                        stack.push((right, b));
                    }
                }
            }
        }
    }
}
