//! Building a tree: halve at the median along the widest spread, twice a node.
//!
//! Counts alone decide the shape of the tree, so its nodes are laid out before any is computed and
//! subtrees are built side by side into their own places: same bytes whatever the threads.

use nalgebra::{Point3, Vector3};

use super::fit::{Spread, fit};
use super::layout::{Child, LEAF, Node, Tree};

/// What a tree is built over.
pub(crate) trait Items: Sync {
    fn count(&self) -> usize;
    /// A point that stands for the item when items are sorted.
    fn middle(&self, index: u32) -> Point3<f64>;
    /// Points that show how the item is spread.
    fn corners(&self, index: u32, visit: &mut dyn FnMut(&Point3<f64>));
    /// Widens `low` and `high` by the item's extents along three directions, from `origin`.
    fn extents(
        &self,
        index: u32,
        origin: &Point3<f64>,
        axes: &[Vector3<f64>; 3],
        low: &mut [f64; 3],
        high: &mut [f64; 3],
    );
}

/// Under this many items a subtree is built on the thread that met it.
const PARALLEL: usize = 4096;

/// Builds a tree; also the order in which the items must then lie.
pub(crate) fn build<I: Items>(items: &I) -> (Tree, Vec<u32>) {
    let count = items.count();
    let mut order: Vec<u32> = (0..count as u32).collect();
    if count == 0 {
        return (Tree { origin: Point3::origin(), reach_mm: 0.0, nodes: Vec::new() }, order);
    }
    let axes = [Vector3::x(), Vector3::y(), Vector3::z()];
    let (mut low, mut high) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
    for index in &order {
        items.extents(*index, &Point3::origin(), &axes, &mut low, &mut high);
    }
    let origin = Point3::from([0, 1, 2].map(|i| (low[i] + high[i]) / 2.0));
    let reach_mm = Vector3::from([0, 1, 2].map(|i| (high[i] - low[i]) / 2.0)).norm();
    let mut nodes = vec![Node::EMPTY; 1 + nodes_for(count)];
    let (top, rest) = nodes.split_at_mut(1);
    top[0].set(0, child_of(count, 0, 1), &fit(items, &order, &origin));
    if count > LEAF {
        fill(items, &origin, &mut order, 0, rest, 1);
    }
    (Tree { origin, reach_mm, nodes }, order)
}

/// How `count` items are dealt to at most four children.
fn deal(count: usize) -> [usize; 4] {
    let half = count.div_ceil(2);
    let other = count - half;
    let two = |n: usize| if n > LEAF { (n.div_ceil(2), n - n.div_ceil(2)) } else { (n, 0) };
    let (a, b) = two(half);
    let (c, d) = two(other);
    [a, b, c, d]
}

/// Nodes in a subtree of `count` items, not counting the slot in its parent.
fn nodes_for(count: usize) -> usize {
    // Subtrees of one level have at most two sizes; remember both.
    fn walk(count: usize, known: &mut std::collections::HashMap<usize, usize>) -> usize {
        if count <= LEAF {
            return 0;
        }
        if let Some(nodes) = known.get(&count) {
            return *nodes;
        }
        let nodes = 1 + deal(count).into_iter().map(|n| walk(n, known)).sum::<usize>();
        known.insert(count, nodes);
        nodes
    }
    walk(count, &mut std::collections::HashMap::new())
}

fn child_of(count: usize, start: usize, node: usize) -> Child {
    if count <= LEAF {
        Child::Items { start: start as u32, count: count as u32 }
    } else {
        Child::Node(node as u32)
    }
}

/// Fills the subtree whose items are `order` (which begin at `start`) into `nodes` (which begin at `base`).
fn fill<I: Items>(
    items: &I,
    origin: &Point3<f64>,
    order: &mut [u32],
    start: usize,
    nodes: &mut [Node],
    base: usize,
) {
    let counts = deal(order.len());
    halve(items, order, counts[0] + counts[1]);
    let (left, right) = order.split_at_mut(counts[0] + counts[1]);
    if counts[1] > 0 {
        halve(items, left, counts[0]);
    }
    if counts[3] > 0 {
        halve(items, right, counts[2]);
    }
    let Some((node, mut rest)) = nodes.split_first_mut() else {
        return;
    };
    let mut tasks: Vec<Task<'_>> = Vec::with_capacity(4);
    let (mut start, mut base, mut order) = (start, base + 1, order);
    for count in counts.into_iter().filter(|count| *count > 0) {
        let (mine, others) = order.split_at_mut(count);
        let size = nodes_for(count);
        let (room, beyond) = rest.split_at_mut(size);
        node.set(tasks.len(), child_of(count, start, base), &fit(items, mine, origin));
        tasks.push(Task { order: mine, start, nodes: room, base });
        (order, rest, start, base) = (others, beyond, start + count, base + size);
    }
    let run = |task: Task<'_>| {
        if task.order.len() > LEAF {
            fill(items, origin, task.order, task.start, task.nodes, task.base);
        }
    };
    if counts.iter().sum::<usize>() >= PARALLEL {
        rayon::scope(|scope| tasks.into_iter().for_each(|task| scope.spawn(move |_| run(task))));
    } else {
        tasks.into_iter().for_each(run);
    }
}

struct Task<'a> {
    order: &'a mut [u32],
    start: usize,
    nodes: &'a mut [Node],
    base: usize,
}

/// Puts the `count` items that lie least far along the widest spread first.
fn halve<I: Items>(items: &I, order: &mut [u32], count: usize) {
    let mut spread = Spread::about(items.middle(order[0]));
    for index in order.iter() {
        spread.add(&items.middle(*index));
    }
    let along = spread.axes().column(0).into_owned();
    let mut keys: Vec<(f64, u32)> =
        order.iter().map(|index| (items.middle(*index).coords.dot(&along), *index)).collect();
    if count < keys.len() {
        // Equal keys are told apart by index: the split is the same on every machine and thread.
        keys.select_nth_unstable_by(count, |a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    }
    for (slot, key) in order.iter_mut().zip(&keys) {
        *slot = key.1;
    }
}
