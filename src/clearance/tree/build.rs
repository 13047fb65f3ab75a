//! Building a tree: halve at the median along the widest spread, twice a node.
//!
//! First the items are dealt out, in single precision and by their middles alone: that needs no boxes. Then,
//! with the items lying in their final order, boxes are put about them from below. Counts alone decide the
//! shape of the tree, so its nodes are laid out before any is computed, and subtrees are built side by side
//! into their own places: same bytes whatever the threads.

use nalgebra::{Matrix3, Point3, Vector3};
use rayon::prelude::*;

use super::fit::{Spread, along};
use super::layout::{Box32, Child, Node, Tree};

/// What a tree is built over.
pub(crate) trait Items: Sync {
    fn count(&self) -> usize;
    /// Items that a lowest box holds at most: one to sixteen.
    fn leaf(&self) -> usize;
    /// A point that stands for the item when items are sorted.
    fn middle(&self, index: u32) -> Point3<f64>;
    /// Points that show how the item is spread.
    fn corners(&self, index: u32, visit: impl FnMut(&Point3<f64>));
    /// Widens `low` and `high` by the item's extents along three directions, from `origin`.
    fn extents(
        &self,
        index: u32,
        origin: &Point3<f64>,
        axes: &[Vector3<f64>; 3],
        low: &mut [f64; 3],
        high: &mut [f64; 3],
    );
    /// Puts the items in another order: the first is the one that now is `order[0]`.
    fn arrange(&mut self, order: &[u32]);
}

/// Under this many items a subtree is built on the thread that met it.
const PARALLEL: usize = 4096;

/// Over this many items a box is put about the boxes of its grandchildren's children.
const MANY: usize = 256;

/// Builds a tree and puts the items in its order.
pub(crate) fn build<I: Items>(items: &mut I) -> Tree {
    let count = items.count();
    if count == 0 {
        return Tree { origin: Point3::origin(), reach_mm: 0.0, nodes: Vec::new() };
    }
    let (low, high) = bounds(items);
    let origin = Point3::from([0, 1, 2].map(|i| (low[i] + high[i]) / 2.0));
    let reach_mm = Vector3::from([0, 1, 2].map(|i| (high[i] - low[i]) / 2.0)).norm();
    let plan = Plan { leaf: items.leaf() };
    let spot = |index: u32| Spot { middle: (items.middle(index) - origin).map(|v| v as f32).into(), index };
    let mut spots: Vec<Spot> = if count < PARALLEL {
        (0..count as u32).map(spot).collect()
    } else {
        (0..count as u32).into_par_iter().map(spot).collect()
    };
    plan.deal_out(&mut spots);
    let order: Vec<u32> = spots.iter().map(|spot| spot.index).collect();
    drop(spots);
    items.arrange(&order);
    let mut nodes = vec![Node::EMPTY; 1 + plan.nodes_for(count)];
    let (top, rest) = nodes.split_at_mut(1);
    let fit = Fit { items: &*items, origin, plan };
    let spread = if count > plan.leaf { fit.fill(0, count, rest, 1) } else { fit.spread(0, count) };
    let below = Below { nodes: rest, base: 1 };
    top[0].set(0, plan.child_of(count, 0, 1), &fit.about(0, count, &spread, &below));
    Tree { origin, reach_mm, nodes }
}

/// The least box along the axes that holds all items, from the frame's origin.
fn bounds<I: Items>(items: &I) -> ([f64; 3], [f64; 3]) {
    let axes = [Vector3::x(), Vector3::y(), Vector3::z()];
    let count = items.count();
    let of = |from: usize| {
        let (mut low, mut high) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
        for index in from..(from + PARALLEL).min(count) {
            items.extents(index as u32, &Point3::origin(), &axes, &mut low, &mut high);
        }
        (low, high)
    };
    let join = |(low, high): ([f64; 3], [f64; 3]), (low_too, high_too): ([f64; 3], [f64; 3])| {
        ([0, 1, 2].map(|i| low[i].min(low_too[i])), [0, 1, 2].map(|i| high[i].max(high_too[i])))
    };
    if count <= PARALLEL {
        return of(0);
    }
    let none = || ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
    (0..count.div_ceil(PARALLEL)).into_par_iter().map(|part| of(part * PARALLEL)).reduce(none, join)
}

/// An item as it is sorted.
#[derive(Clone, Copy)]
struct Spot {
    middle: [f32; 3],
    index: u32,
}

/// How many items go where.
#[derive(Clone, Copy)]
struct Plan {
    leaf: usize,
}

impl Plan {
    /// How `count` items are dealt to at most four children: subtrees that are full, as long as the items last.
    fn deal(self, count: usize) -> [usize; 4] {
        let mut full = self.leaf;
        while full * 4 < count {
            full *= 4;
        }
        let mut left = count;
        [0; 4].map(|_| {
            let mine = full.min(left);
            left -= mine;
            mine
        })
    }

    /// Nodes in a subtree of `count` items, not counting the slot in its parent.
    fn nodes_for(self, count: usize) -> usize {
        // Subtrees of one level have at most two sizes, a full one and a rest: remember both.
        fn walk(plan: Plan, count: usize, known: &mut Vec<(usize, usize)>) -> usize {
            if count <= plan.leaf {
                return 0;
            }
            if let Some((_, nodes)) = known.iter().find(|(of, _)| *of == count) {
                return *nodes;
            }
            let nodes = 1 + plan.deal(count).into_iter().map(|n| walk(plan, n, known)).sum::<usize>();
            known.push((count, nodes));
            nodes
        }
        walk(self, count, &mut Vec::new())
    }

    fn child_of(self, count: usize, start: usize, node: usize) -> Child {
        if count <= self.leaf {
            Child::Items { start: start as u32, count: count as u32 }
        } else {
            Child::Node(node as u32)
        }
    }

    /// Sorts so that every subtree's items lie side by side.
    fn deal_out(self, spots: &mut [Spot]) {
        if spots.len() <= self.leaf {
            return;
        }
        let counts = self.deal(spots.len());
        let many = spots.len() >= PARALLEL;
        let (left, right) = halve(spots, counts[0] + counts[1]);
        both(
            many,
            || {
                let (a, b) = halve(left, counts[0]);
                both(many, || self.deal_out(a), || self.deal_out(b));
            },
            || {
                let (c, d) = halve(right, counts[2]);
                both(many, || self.deal_out(c), || self.deal_out(d));
            },
        );
    }
}

fn both<A: Send, B: Send>(
    side_by_side: bool,
    one: impl FnOnce() -> A + Send,
    other: impl FnOnce() -> B + Send,
) -> (A, B) {
    if side_by_side { rayon::join(one, other) } else { (one(), other()) }
}

/// Puts the `count` spots that lie least far along the widest spread first.
fn halve(spots: &mut [Spot], count: usize) -> (&mut [Spot], &mut [Spot]) {
    if count < spots.len() {
        let toward = widest(spots);
        let key = |spot: &Spot| {
            let [x, y, z] = spot.middle;
            toward[0] * x + toward[1] * y + toward[2] * z
        };
        // Equal keys are told apart by index: the split is the same on every machine and thread.
        spots.select_nth_unstable_by(count, |a, b| key(a).total_cmp(&key(b)).then(a.index.cmp(&b.index)));
    }
    spots.split_at_mut(count.min(spots.len()))
}

/// How many spots stand for all where there are more.
const SAMPLE: usize = 512;

/// The direction of most spread.
fn widest(spots: &[Spot]) -> [f32; 3] {
    let mut spread = Spread::default();
    let mut add = |spot: &Spot| spread.add(&Vector3::from(spot.middle).map(f64::from));
    if spots.len() <= SAMPLE {
        spots.iter().for_each(&mut add);
    } else {
        // Steps of the golden section fall on no grid that a mesh may be made by.
        let step = (spots.len() as f64 * 0.618_033_988_749_895) as usize | 1;
        (0..SAMPLE).for_each(|k| add(&spots[(k * step) % spots.len()]));
    }
    spread.widest().map(|v| v as f32).into()
}

/// Nodes of a subtree, for looking at the boxes in it.
struct Below<'a> {
    nodes: &'a [Node],
    /// The number of the first.
    base: usize,
}

struct Fit<'a, I> {
    items: &'a I,
    origin: Point3<f64>,
    plan: Plan,
}

/// A subtree still to be filled.
struct Task<'a> {
    start: usize,
    count: usize,
    nodes: &'a mut [Node],
    base: usize,
}

impl<I: Items> Fit<'_, I> {
    /// Fills the subtree of `count` items from `start` into `nodes`, the first of which has number `base`.
    fn fill(&self, start: usize, count: usize, nodes: &mut [Node], base: usize) -> Spread {
        let counts = self.plan.deal(count);
        let Some((node, mut rest)) = nodes.split_first_mut() else {
            return Spread::default();
        };
        let mut tasks: [Option<Task<'_>>; 4] = [None, None, None, None];
        let (mut at, mut number) = (start, base + 1);
        for (task, count) in tasks.iter_mut().zip(counts.into_iter().filter(|count| *count > 0)) {
            let size = self.plan.nodes_for(count);
            let (room, beyond) = rest.split_at_mut(size);
            *task = Some(Task { start: at, count, nodes: room, base: number });
            (rest, at, number) = (beyond, at + count, number + size);
        }
        let many = count >= PARALLEL;
        let [a, b, c, d] = tasks;
        let run = |task: Option<Task<'_>>| task.map(|task| self.lane(task));
        let ((a, b), (c, d)) =
            both(many, || both(many, || run(a), || run(b)), || both(many, || run(c), || run(d)));
        let mut whole = Spread::default();
        for (lane, (child, bounds, spread)) in [a, b, c, d].into_iter().flatten().enumerate() {
            node.set(lane, child, &bounds);
            whole.join(&spread);
        }
        whole
    }

    fn lane(&self, task: Task<'_>) -> (Child, Box32, Spread) {
        let Task { start, count, nodes, base } = task;
        let spread = if count > self.plan.leaf {
            self.fill(start, count, nodes, base)
        } else {
            self.spread(start, count)
        };
        let bounds = self.about(start, count, &spread, &Below { nodes, base });
        (self.plan.child_of(count, start, base), bounds, spread)
    }

    fn spread(&self, start: usize, count: usize) -> Spread {
        let mut spread = Spread::default();
        for index in start..start + count {
            self.items.corners(index as u32, |p| spread.add(&(p - self.origin)));
        }
        spread
    }

    /// The box about items along the axes of their spread.
    fn about(&self, start: usize, count: usize, spread: &Spread, below: &Below<'_>) -> Box32 {
        let axes = spread.axes();
        along(&axes, |columns, low, high| {
            if count > MANY {
                below.extents(0, 2, columns, low, high);
            } else {
                for index in start..start + count {
                    self.items.extents(index as u32, &self.origin, columns, low, high);
                }
            }
        })
    }
}

impl Below<'_> {
    /// Widens by the boxes some levels under a node.
    fn extents(
        &self,
        node: usize,
        levels: usize,
        columns: &[Vector3<f64>; 3],
        low: &mut [f64; 3],
        high: &mut [f64; 3],
    ) {
        let node = &self.nodes[node];
        for lane in 0..node.count() {
            match node.child(lane) {
                Some(Child::Node(next)) if levels > 0 => {
                    self.extents(next as usize - self.base, levels - 1, columns, low, high);
                }
                _ => {
                    let bounds = node.bounds(lane);
                    let axes: Matrix3<f64> = bounds.axes.map(f64::from);
                    let (center, half) = (bounds.center.map(f64::from), bounds.half.map(f64::from));
                    for (j, column) in columns.iter().enumerate() {
                        let (at, reach) = (center.dot(column), axes.tr_mul(column).abs().dot(&half));
                        low[j] = low[j].min(at - reach);
                        high[j] = high[j].max(at + reach);
                    }
                }
            }
        }
    }
}
