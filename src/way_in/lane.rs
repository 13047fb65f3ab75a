//! One search: trees from both ends that grow toward each other.

use nalgebra::{Isometry3, Translation3, UnitQuaternion, Vector3};

use super::bay::{Asked, Bay};
use super::dice::Dice;
use super::grow::{Gait, Growth, Grown};
use super::mover::Step;
use super::proof::{Proof, prove};
use super::tree::{Tree, apart_mm};
use crate::space::{Bounds, Pose};

/// What every search of one question shares.
#[derive(Clone, Debug)]
pub(super) struct Task<'a> {
    pub bay: &'a Bay<'a>,
    /// Where the middle of the body may be.
    pub room: Bounds,
    pub starts: Vec<Pose>,
    pub goal: Pose,
    pub gait: Gait,
    /// Farthest that a tree grows at once, mm of travel.
    pub range_mm: f64,
    /// Nodes at most, over all trees.
    pub most_nodes: usize,
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
    /// From the start; from the goal.
    trees: [Tree; 2],
    pub asked: Asked,
    /// The nearest that the trees came, mm, and the poses of both.
    pub closest: (f64, Pose, Pose),
    turn: usize,
    pub refused: u64,
}

impl Lane {
    pub fn new(task: &Task<'_>, seed: u64) -> Self {
        let mover = task.bay.mover;
        let mut from = Tree::rooted(mover, &task.starts[0]);
        for start in &task.starts[1..] {
            let root = from.nodes.len() as u32;
            from.add(mover, start, root, true);
        }
        let to = Tree::rooted(mover, &task.goal);
        let closest = (apart_mm(mover, &task.starts[0], &task.goal), task.starts[0], task.goal);
        Lane {
            dice: Dice::new(seed),
            trees: [from, to],
            asked: task.bay.asked(),
            closest,
            turn: 0,
            refused: 0,
        }
    }

    pub fn nodes(&self) -> usize {
        self.trees.iter().map(|tree| tree.nodes.len()).sum()
    }

    pub fn tree_sizes(&self) -> [usize; 2] {
        [self.trees[0].nodes.len(), self.trees[1].nodes.len()]
    }

    /// Searches until `checks` poses were looked at in all.
    pub fn run(&mut self, task: &Task<'_>, checks: u64, stop: &dyn Fn() -> bool) -> Round {
        while self.asked.checks < checks {
            if self.nodes() > task.most_nodes || stop() {
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
            if let Some(way) = self.iterate(task, side) {
                return Round::Way(way);
            }
        }
        Round::Open
    }

    fn iterate(&mut self, task: &Task<'_>, side: usize) -> Option<Vec<Pose>> {
        let mover = task.bay.mover;
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
        // The other tree comes toward what was gained.
        let here = self.trees[side].nodes[grown.last as usize].pose;
        let other = 1 - side;
        let (near, _) = self.trees[other].nearest(mover, &here);
        let mut from = near;
        let mut met;
        loop {
            met = self.grow(task, other, from, &here, 4.0 * task.range_mm, true);
            if met.arrived || met.went_mm < 2.0 * task.range_mm || met.last == from {
                break;
            }
            from = met.last;
        }
        let reached = self.trees[other].nodes[met.last as usize].pose;
        let far = apart_mm(mover, &reached, &here);
        if far < self.closest.0 {
            let mut both = [here, reached];
            if side == 1 {
                both.swap(0, 1);
            }
            self.closest = (far, both[0], both[1]);
        }
        if !met.arrived {
            return None;
        }
        let (start_node, goal_node) = if side == 0 { (grown.last, met.last) } else { (met.last, grown.last) };
        self.joined(task, start_node, goal_node)
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
            let from = self.trees[side].nodes[parent as usize].pose;
            self.asked.checks += 20;
            if let Proof::Free { .. } = prove(task.bay, &Step::new(&from, &pose), 5000) {
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
            let line = tree.from_root(end);
            self.asked.checks += 20 * line.len() as u64;
            let free = |pair: &[Pose]| {
                matches!(prove(task.bay, &Step::new(&pair[0], &pair[1]), 2000), Proof::Free { .. })
            };
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
