//! One search: trees from both ends that grow toward each other.

use nalgebra::{Isometry3, Translation3, UnitQuaternion, Vector3};

use super::bay::{Asked, Bay};
use super::dice::Dice;
use super::grow::{Gait, Grown, Growth};
use super::mover::{Mover, Step};
use super::proof::{Proof, prove};
use super::tight::{Facets, Tight};
use super::tree::{Tree, apart_mm};
use crate::space::{Bounds, Pose};

/// What every search of one question shares.
#[derive(Clone)]
pub(super) struct Task<'a> {
    pub bay: &'a Bay<'a>,
    /// Where the middle of the body may be.
    pub room: Bounds,
    pub starts: Vec<Pose>,
    pub goal: Pose,
    /// Proved ways off the mounted pose, without it.
    pub pulled: Vec<Vec<Pose>>,
    pub gait: Gait,
    /// Farthest that a tree grows at once, mm of travel.
    pub range_mm: f64,
    /// Nodes at most, over all trees.
    pub most_nodes: usize,
    /// Gaps and what may pass them.
    pub facets: Facets<'a>,
    /// Whether the search is to end: time is up, or it was cancelled.
    pub stop: &'a (dyn Fn() -> bool + Sync),
}

/// How a round of a search ended.
#[derive(Clone, Debug)]
pub(super) enum Round {
    /// A way, every step of it proved.
    Way(Vec<Pose>),
    /// Not yet.
    Open,
}

/// One search.
#[derive(Clone, Debug)]
pub(super) struct Lane {
    dice: Dice,
    /// From the start; from the goal; from tight places, with a root in each.
    trees: [Tree; 3],
    pub asked: Asked,
    /// The nearest that the trees came, mm, and the poses of both.
    pub closest: (f64, Pose, Pose),
    turn: usize,
    pub refused: u64,
    seeded: u64,
    seed_at: u64,
    tight: Tight,
}

/// The tree of tight places.
const TIGHT: usize = 2;

impl Lane {
    pub fn new(task: &Task<'_>, seed: u64) -> Self {
        let mover = task.bay.mover;
        let mut from = Tree::rooted(mover, &task.starts[0]);
        for start in &task.starts[1..] {
            let root = from.nodes.len() as u32;
            from.add(mover, start, root, true);
        }
        let mut to = Tree::rooted(mover, &task.goal);
        for line in &task.pulled {
            let mut at = 0;
            for pose in line {
                at = to.add(mover, pose, at, true);
                to.nodes[at as usize].proved = true;
            }
        }
        let closest = (apart_mm(mover, &task.starts[0], &task.goal), task.starts[0], task.goal);
        Lane {
            dice: Dice::new(seed),
            trees: [from, to, Tree::default()],
            asked: task.bay.asked(),
            closest,
            turn: 0,
            refused: 0,
            seeded: 0,
            seed_at: 1500,
            tight: Tight::default(),
        }
    }

    pub fn nodes(&self) -> usize {
        self.trees.iter().map(|tree| tree.nodes.len()).sum()
    }

    /// Searches until `checks` poses were looked at in all.
    pub fn run(&mut self, task: &Task<'_>, checks: u64) -> Round {
        while self.asked.checks < checks {
            self.seed(task);
            if self.nodes() > task.most_nodes || (task.stop)() {
                return Round::Open;
            }
            // The tree that asked less grows; they take turns while alike.
            let side = if self.trees[0].found.len() * 4 < self.trees[1].found.len() {
                0
            } else if self.trees[1].found.len() * 4 < self.trees[0].found.len() {
                1
            } else {
                self.turn ^ 1
            };
            self.turn = side;
            let side =
                if !self.trees[TIGHT].found.is_empty() && self.dice.share() < 0.3 { TIGHT } else { side };
            if let Some(way) = self.iterate(task, side) {
                return Round::Way(way);
            }
        }
        Round::Open
    }

    fn iterate(&mut self, task: &Task<'_>, side: usize) -> Option<Vec<Pose>> {
        let (node, target) = self.aim(task, side)?;
        let before = self.trees[side].nodes.len();
        let grown = self.grow(task, side, node, &target, task.range_mm, true);
        let picked = &mut self.trees[side].nodes[node as usize];
        if grown.arrived || grown.went_mm > 0.5 * task.range_mm {
            picked.radius_mm *= 1.3;
        } else {
            let reach = (task.range_mm * 4.0) as f32;
            picked.radius_mm = (picked.radius_mm.min(reach) * 0.8).max(task.gait.step_mm as f32 * 3.0);
        }
        if self.trees[side].nodes.len() == before || grown.went_mm < task.gait.step_mm {
            return None;
        }
        // The other trees come toward what was gained.
        let here = grown.last;
        match side {
            TIGHT => {
                let first = self.dice.below(2);
                for main in [first, 1 - first] {
                    let met = self.come(task, main, TIGHT, here);
                    if let Some(met) = met {
                        return self.handed_over(task, here, main, met);
                    }
                }
                None
            }
            main => {
                if let Some(met) = self.come(task, 1 - main, main, here) {
                    let (from, to) = if main == 0 { (here, met) } else { (met, here) };
                    return self.joined(task, from, to);
                }
                if !self.trees[TIGHT].found.is_empty()
                    && self.dice.share() < 0.5
                    && let Some(met) = self.come(task, TIGHT, main, here)
                {
                    return self.handed_over(task, met, main, here);
                }
                None
            }
        }
    }

    /// Roots in tight places, a few at a time.
    fn seed(&mut self, task: &Task<'_>) {
        if self.asked.checks < self.seed_at || self.seeded > 200 {
            return;
        }
        let mover = task.bay.mover;
        let tries = 500;
        self.tight.look(&task.facets, if self.seeded == 0 { 4000 } else { 800 }, &mut self.dice);
        let free = self.tight.free(task.bay, task.gait.margin_mm, tries, 12, &mut self.dice, &mut self.asked);
        self.asked.checks += 1000;
        self.seed_at = self.asked.checks + 3000;
        for pose in free {
            self.seeded += 1;
            let root = self.trees[TIGHT].nodes.len() as u32;
            self.trees[TIGHT].add(mover, &pose, root, true);
        }
    }

    /// What hangs on a node of the tight places becomes part of a main tree, whose node `at` stands at the same pose;
    /// then the other main tree, and what else grows from tight places, come toward what was gained.
    fn handed_over(&mut self, task: &Task<'_>, tight: u32, main: usize, at: u32) -> Option<Vec<Pose>> {
        let mover = task.bay.mover;
        let (mut tight, mut at) = (tight, at);
        for _ in 0..8 {
            let before = self.trees[main].nodes.len() as u32;
            let mut gone = std::mem::take(&mut self.trees[TIGHT]);
            gone.hand_over(mover, tight, &mut self.trees[main], at);
            self.trees[TIGHT] = gone;
            let gained = self.trees[main].nodes.len() as u32 - before;
            let mut some: Vec<u32> =
                (0..gained.min(24)).map(|_| before + self.dice.below(gained as usize) as u32).collect();
            some.push(at);
            let other = 1 - main;
            for node in self.nearest_to(mover, &some, main, other) {
                if let Some(met) = self.come(task, other, main, node) {
                    let (from, to) = if main == 0 { (node, met) } else { (met, node) };
                    return self.joined(task, from, to);
                }
            }
            if self.trees[TIGHT].found.is_empty() {
                return None;
            }
            let next = self
                .nearest_to(mover, &some, main, TIGHT)
                .into_iter()
                .find_map(|node| self.come(task, TIGHT, main, node).map(|met| (met, node)));
            (tight, at) = next?;
        }
        None
    }

    /// The three of some nodes of a tree that come nearest to another tree.
    fn nearest_to(&self, mover: &Mover, some: &[u32], tree: usize, other: usize) -> Vec<u32> {
        let far = |node: u32| self.trees[other].nearest(mover, &self.trees[tree].nodes[node as usize].pose).1;
        let mut ranked: Vec<(f64, u32)> = some.iter().map(|node| (far(*node), *node)).collect();
        ranked.sort_by(|p, q| p.0.total_cmp(&q.0).then(p.1.cmp(&q.1)));
        ranked.dedup();
        ranked.into_iter().take(3).map(|(_, node)| node).collect()
    }

    /// Grows a tree toward a node of another; the node that stands at the same pose, if it gets there.
    fn come(&mut self, task: &Task<'_>, side: usize, toward: usize, node: u32) -> Option<u32> {
        let mover = task.bay.mover;
        let here = self.trees[toward].nodes[node as usize].pose;
        let (mut from, far) = self.trees[side].nearest(mover, &here);
        if side == TIGHT && far > 2.0 * task.range_mm {
            return None;
        }
        let mut met;
        loop {
            met = self.grow(task, side, from, &here, 4.0 * task.range_mm, true);
            if met.arrived || met.went_mm < 2.0 * task.range_mm || met.last == from {
                break;
            }
            from = met.last;
        }
        if side != TIGHT && toward != TIGHT {
            let reached = self.trees[side].nodes[met.last as usize].pose;
            let far = apart_mm(mover, &reached, &here);
            if far < self.closest.0 {
                self.closest = if toward == 0 { (far, here, reached) } else { (far, reached, here) };
            }
        }
        met.arrived.then_some(met.last)
    }

    fn grow(
        &mut self,
        task: &Task<'_>,
        side: usize,
        node: u32,
        target: &Pose,
        most_mm: f64,
        slide: bool,
    ) -> Grown {
        let mut gait = task.gait;
        if !slide {
            gait.slides = 0;
        }
        let mut growth = Growth { bay: task.bay, gait, asked: &mut self.asked };
        growth.toward(&mut self.trees[side], node, target, most_mm)
    }

    /// Where to grow from, and toward what.
    fn aim(&mut self, task: &Task<'_>, side: usize) -> Option<(u32, Pose)> {
        let mover = task.bay.mover;
        let tree = &mut self.trees[side];
        let luck = self.dice.share();
        if luck < 0.45 {
            // Anywhere.
            for _ in 0..20 {
                let at = self.dice.point(&task.room);
                let target = Isometry3::from_parts(Translation3::from(at.coords), self.dice.turn());
                let (node, far) = tree.nearest(mover, &target);
                if far as f32 <= tree.nodes[node as usize].radius_mm {
                    tree.nodes[node as usize].tries += 1;
                    return Some((node, target));
                }
                self.asked.checks += 1;
            }
            return None;
        }
        // A node that was tried seldom, the newer ones more often.
        let mut node = 0;
        let mut least = u32::MAX;
        for _ in 0..3 {
            let share = self.dice.share();
            let newest = if self.dice.share() < 0.5 { 1.0 - share * share * share } else { share };
            let place = ((newest * tree.found.len() as f64) as usize).min(tree.found.len() - 1);
            let offered = tree.found[place];
            if tree.nodes[offered as usize].tries < least {
                (node, least) = (offered, tree.nodes[offered as usize].tries);
            }
        }
        tree.nodes[node as usize].tries += 1;
        let at = tree.nodes[node as usize].pose;
        let far = task.gait.step_mm * (task.range_mm * 2.0 / task.gait.step_mm).powf(self.dice.share());
        if luck < 0.65 {
            // On the way that led here, give or take.
            let mut back = node;
            for _ in 0..6 + self.dice.below(10) {
                back = tree.nodes[back as usize].parent;
            }
            let step = Step::new(&tree.nodes[back as usize].pose, &at);
            let travel = step.travel_mm(mover.reach_mm);
            if travel > task.gait.step_mm {
                let go = (far + task.range_mm) / travel;
                let noise = 0.35 * self.dice.share();
                let shift = (step.shift + self.dice.direction() * (noise * step.shift.norm())) * go;
                let turn = (step.turn + self.dice.direction() * (noise * step.turn.norm())) * go;
                return Some((node, nudged(&at, shift, turn)));
            }
        }
        // Round about.
        let (shift_share, turn_share) = match self.dice.below(4) {
            0 => (1.0, 0.0),
            1 => (0.0, 1.0),
            _ => (self.dice.share(), self.dice.share()),
        };
        let shift = self.dice.direction() * (far * shift_share);
        let turn = self.dice.direction() * (far * turn_share / mover.spread_mm).min(3.0);
        Some((node, nudged(&at, shift, turn)))
    }

    /// The way over two nodes that meet, when every step of it can be proved. What cannot is cut off.
    fn joined(&mut self, task: &Task<'_>, start_node: u32, goal_node: u32) -> Option<Vec<Pose>> {
        let mut way = self.proved_line(task, 0, start_node)?;
        let mut back = self.proved_line(task, 1, goal_node)?;
        back.reverse();
        way.extend(back);
        let mover = task.bay.mover;
        way.dedup_by(|b, a| mover.travel_mm(a, b) < 1e-12);
        Some(way)
    }

    /// From the root to a node, each step proved; or the tree loses what hangs on a step that could not be.
    fn proved_line(&mut self, task: &Task<'_>, side: usize, node: u32) -> Option<Vec<Pose>> {
        let mut line = Vec::new();
        for child in self.trees[side].ancestors(node) {
            let (pose, parent, proved) = {
                let node = &self.trees[side].nodes[child as usize];
                (node.pose, node.parent, node.proved)
            };
            if proved || parent == child {
                line.push(pose);
                continue;
            }
            if (task.stop)() {
                return None;
            }
            let from = self.trees[side].nodes[parent as usize].pose;
            self.asked.checks += 20;
            if prove(task.bay, &Step::new(&from, &pose), 0.0, 5000) == Proof::Free {
                self.trees[side].nodes[child as usize].proved = true;
                line.push(pose);
            } else if let Some(round) = self.round_about(task, &from, &pose) {
                line.extend(round);
            } else {
                self.refused += 1;
                self.trees[side].cut(task.bay.mover, child);
                return None;
            }
        }
        Some(line)
    }

    /// A way from one pose to one near by in finer steps, proved; without its first pose.
    fn round_about(&mut self, task: &Task<'_>, from: &Pose, to: &Pose) -> Option<Vec<Pose>> {
        let mover = task.bay.mover;
        let travel_mm = mover.travel_mm(from, to);
        for finer in [4.0, 16.0] {
            let gait = Gait { step_mm: task.gait.step_mm / finer, slides: 200, ..task.gait };
            let mut tree = Tree::rooted(mover, from);
            let mut growth = Growth { bay: task.bay, gait, asked: &mut self.asked };
            let grown = growth.toward(&mut tree, 0, to, 4.0 * travel_mm);
            if !grown.arrived {
                // A last straight piece.
                let mut last = growth.toward(&mut tree, grown.last, to, travel_mm);
                last.went_mm += grown.went_mm;
                if !last.arrived {
                    continue;
                }
            }
            let end = tree.nodes.len() as u32 - 1;
            let line = tree.line_to(end);
            self.asked.checks += 20 * line.len() as u64;
            let free =
                |pair: &[Pose]| prove(task.bay, &Step::new(&pair[0], &pair[1]), 0.0, 2000) == Proof::Free;
            if line.windows(2).all(free) {
                return Some(line[1..].to_vec());
            }
        }
        None
    }
}

fn nudged(at: &Pose, shift: Vector3<f64>, turn: Vector3<f64>) -> Pose {
    Isometry3::from_parts(
        Translation3::from(at.translation.vector + shift),
        UnitQuaternion::from_scaled_axis(turn) * at.rotation,
    )
}
