//! Where a pipe must break so that it goes in.

use nalgebra::Point3;

use crate::clearance::gap;
use crate::scene::{Body, Scene};
use crate::space::{Length, Pose};
use crate::tube::{
    BendList, JointKind, JointSize, Making, SplitNeeds, SplitPlace, TooShort, TubeMaterial, check_making,
    joint_size, plan_from_stock,
};

use super::clamp::{Around, ClampRoom};
use super::error::AssemblyError;
use super::look::Look;
use super::order::{OrderAsk, OrderFound, find_order};
use super::pieces::{BACK_MM, in_pieces, tube_of};
use super::seen::Shapes;

/// A pipe that is to break.
#[derive(Clone, Debug)]
pub struct BreakAsk<'a> {
    /// The scene with the pipe where it is mounted.
    pub scene: &'a Scene,
    /// Trees of its bodies.
    pub shapes: &'a Shapes,
    /// The pipe.
    pub body: &'a Body,
    /// Bodies that are away.
    pub without: &'a [String],
    /// What closes a break.
    pub joint: JointKind,
    /// Pieces at most: 2 or 3.
    pub most_pieces: usize,
    /// How to look.
    pub look: &'a Look<'a>,
}

/// Where a pipe may break, what was tried, and what won.
#[derive(Clone, Debug)]
pub struct Breaks {
    /// The joint that closes a break.
    pub joint: JointSize,
    /// Straights that are too short to be broken.
    pub short: Vec<TooShort>,
    /// Places and pairs of places in the order in which they rank: fewer pieces, more room for the joint, a shorter longest
    /// piece.
    pub tried: Vec<Tried>,
    /// The winner.
    pub won: Option<Won>,
    /// Whether the time ran out.
    pub cut_short: bool,
    /// Whether it was somebody who ended it, and not the time.
    pub cancelled: bool,
}

/// One way to break the pipe.
#[derive(Clone, Debug)]
pub struct Tried {
    /// Where, along the tube.
    pub places: Vec<SplitPlace>,
    /// The same in vehicle axes.
    pub at: Vec<Point3<f64>>,
    /// Room at each.
    pub clamps: Vec<ClampRoom>,
    /// Lengths of the pieces' centrelines, mm.
    pub lengths_mm: Vec<f64>,
    /// What came of it.
    pub outcome: Outcome,
}

/// What came of a break.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// Its pieces go in.
    Won,
    /// The joint has too little room.
    NoRoom {
        /// Which place of it.
        place: usize,
    },
    /// No tool turns the joint's screw.
    NoTool {
        /// Which place of it.
        place: usize,
    },
    /// A piece cannot be made.
    Making {
        /// Which piece, and why.
        why: String,
    },
    /// No order was found in which all pieces go in.
    NoWay {
        /// The piece that was left over, and what stopped it most.
        stuck: Vec<(String, Vec<String>)>,
    },
    /// It ranks after the winner, or the time was up.
    NotTried,
}

/// The break that won.
#[derive(Clone, Debug)]
pub struct Won {
    /// Number of it among those tried.
    pub tried: usize,
    /// Its pieces in the order in which they go in, with their ways.
    pub found: OrderFound,
    /// The scene with the pieces in the pipe's place.
    pub scene: Scene,
    /// Names of the pieces, from the tube's start.
    pub pieces: Vec<String>,
}

/// Splits a straight at places no farther apart than this, mm.
const EVERY_MM: f64 = 12.0;
/// Pairs of places that are tried at most: what has most room first.
const MOST_PAIRS: usize = 60;
/// Nearer than this a pipe's end is fixed to a body, mm: as for joined bodies.
const SEATED_MM: f64 = 2.0;

/// Place of a name in a list.
fn number_of(names: &[String], name: &str) -> Option<usize> {
    names.iter().position(|one| one == name)
}

/// Lengths of end pieces that were left over: what is as long or longer, or hardly shorter, is tried after all else.
#[derive(Debug)]
struct InVain {
    first_mm: f64,
    last_mm: f64,
}

/// A piece that is shorter by less than this is hardly better, mm.
const HARDLY_MM: f64 = 60.0;

impl Default for InVain {
    fn default() -> Self {
        InVain { first_mm: f64::INFINITY, last_mm: f64::INFINITY }
    }
}

impl InVain {
    fn ends(tried: &Tried) -> (f64, f64) {
        let end = |piece: Option<&f64>| piece.copied().unwrap_or(0.0);
        (end(tried.lengths_mm.first()), end(tried.lengths_mm.last()))
    }

    /// The first of some that has a chance; else the first.
    fn next(&self, open: &[usize], tried: &[Tried]) -> usize {
        let chance = |at: &usize| {
            let (first_mm, last_mm) = InVain::ends(&tried[*at]);
            first_mm < self.first_mm - HARDLY_MM && last_mm < self.last_mm - HARDLY_MM
        };
        open.iter().position(chance).unwrap_or(0)
    }

    /// Pieces of a break, by number, were left over.
    fn add(&mut self, tried: &Tried, pieces: impl Iterator<Item = usize>) {
        let (first_mm, last_mm) = InVain::ends(tried);
        for piece in pieces {
            if piece == 0 {
                self.first_mm = self.first_mm.min(first_mm);
            } else if piece + 1 == tried.lengths_mm.len() {
                self.last_mm = self.last_mm.min(last_mm);
            }
        }
    }
}

/// Looks for the break by which a pipe goes in: two pieces, then three.
///
/// A break must leave each joint its straight and its room (the gap of the question to all else), a tool must turn its
/// screw, and each piece must be one that the body's own bender or stock bends make. Of those that are left, the first whose
/// pieces go in one after the other is the winner. They are tried by rank, but for those with an end piece that is hardly
/// shorter than one that was left over before: these come last.
///
/// # Errors
/// A body that is no tube; what the planner or the access room refuse.
pub fn find_breaks(ask: &BreakAsk<'_>) -> Result<Breaks, AssemblyError> {
    let (tube, list) = tube_of(ask.body)?;
    let joint = joint_size(ask.joint, 2.0 * tube.radius_mm);
    let ends = ends_need(ask, &list, 2.0 * tube.radius_mm);
    let needs = SplitNeeds { joint_mm: joint.straight_mm, start_mm: ends[0], end_mm: ends[1] };
    let (places, short) = list.split_places(&needs, EVERY_MM)?;
    let seen = super::seen::Seen::by(ask.scene, ask.shapes, ask.body, ask.without, Length::from_mm(0.0));
    let world_from_pipe = ask.body.world_from_body;
    let around = Around::of(ask.scene, &seen, &ask.body.name, &world_from_pipe, &ask.look.sides)?;
    let mut singles = Vec::new();
    for place in &places {
        if ask.look.cancelled() {
            break;
        }
        let (at, axis) = (world_from_pipe * place.at, world_from_pipe * place.axis);
        singles.push((*place, around.room(&at, &axis, &joint)?));
    }
    let mut out = Breaks { joint, short, tried: Vec::new(), won: None, cut_short: false, cancelled: false };
    if ask.look.cancelled() {
        (out.cut_short, out.cancelled) = (true, true);
        return Ok(out);
    }
    for pieces in 2..=ask.most_pieces.clamp(2, 3) {
        let from = out.tried.len();
        let mut candidates = candidates(ask, &tube, &list, &singles, pieces, &joint)?;
        if pieces > 2 {
            candidates.truncate(MOST_PAIRS);
        }
        out.tried.extend(candidates);
        // Easy ways are looked for at all places before hard ones at any.
        for levels in [1, 2, 3] {
            let mut in_vain = InVain::default();
            let worth = |tried: &Tried| matches!(tried.outcome, Outcome::NotTried | Outcome::NoWay { .. });
            let mut open: Vec<usize> = (from..out.tried.len()).filter(|at| worth(&out.tried[*at])).collect();
            while !open.is_empty() {
                let at = open.remove(in_vain.next(&open, &out.tried));
                if ask.look.over() {
                    out.cut_short = true;
                    out.cancelled = ask.look.cancelled();
                    return Ok(out);
                }
                let lists = list.split_at(&out.tried[at].places, BACK_MM)?;
                let (scene, names) = in_pieces(ask.scene, ask.body, &tube, &lists, &joint)?;
                let mut shapes = ask.shapes.clone();
                shapes.add(&scene);
                let found = find_order(&OrderAsk {
                    scene: &scene,
                    shapes: &shapes,
                    kit: &names,
                    without: ask.without,
                    look: ask.look,
                    levels,
                    explain: false,
                })?;
                if found.stuck.is_empty() {
                    let tried = &mut out.tried[at];
                    tried.outcome = Outcome::Won;
                    for clamp in &mut tried.clamps {
                        clamp.hand = clamp.tool.as_ref().and_then(|tool| around.hand(&tool.screw));
                    }
                    out.won = Some(Won { tried: at, found, scene, pieces: names });
                    return Ok(out);
                }
                in_vain.add(
                    &out.tried[at],
                    found.stuck.iter().filter_map(|stuck| number_of(&names, &stuck.part)),
                );
                let stuck = found.stuck.iter().map(|stuck| (stuck.part.clone(), stuck.stopped_by.clone()));
                out.tried[at].outcome = Outcome::NoWay { stuck: stuck.collect() };
            }
        }
    }
    // The last try may have been ended in its middle.
    if ask.look.cancelled() {
        (out.cut_short, out.cancelled) = (true, true);
    }
    Ok(out)
}

/// All ways to break the pipe into so many pieces, the best first, those that fail for want of room or of making marked.
fn candidates(
    ask: &BreakAsk<'_>,
    tube: &crate::solid::Tube,
    list: &BendList,
    singles: &[(SplitPlace, ClampRoom)],
    pieces: usize,
    joint: &JointSize,
) -> Result<Vec<Tried>, AssemblyError> {
    let fine = |at: usize| singles[at].1.room_mm >= ask.look.gap.mm() && singles[at].1.tool.is_some();
    let mut picks: Vec<Vec<usize>> = Vec::new();
    for one in 0..singles.len() {
        if pieces == 2 {
            picks.push(vec![one]);
            continue;
        }
        for other in one + 1..singles.len() {
            let apart = singles[other].0.along_mm - singles[one].0.along_mm;
            // Places that are out by themselves have been told already.
            if fine(one) && fine(other) && apart >= 2.0 * joint.straight_mm {
                picks.push(vec![one, other]);
            }
        }
    }
    let mut tried = Vec::with_capacity(picks.len());
    for pick in picks {
        let places: Vec<SplitPlace> = pick.iter().map(|at| singles[*at].0).collect();
        let clamps: Vec<ClampRoom> = pick.iter().map(|at| singles[*at].1.clone()).collect();
        let lists = list.split_at(&places, BACK_MM)?;
        let outcome = if let Some(place) = clamps.iter().position(|clamp| clamp.room_mm < ask.look.gap.mm()) {
            Outcome::NoRoom { place }
        } else if let Some(place) = clamps.iter().position(|clamp| clamp.tool.is_none()) {
            Outcome::NoTool { place }
        } else if let Some(why) = cannot_make(ask, tube, &lists, joint) {
            Outcome::Making { why }
        } else {
            Outcome::NotTried
        };
        let at = places.iter().map(|place| ask.body.world_from_body * place.at).collect();
        let lengths_mm = lists.iter().map(BendList::length_mm).collect();
        tried.push(Tried { places, at, clamps, lengths_mm, outcome });
    }
    let rank = |tried: &Tried| {
        let fails = tried.outcome != Outcome::NotTried;
        let room = tried.clamps.iter().map(|clamp| clamp.room_mm).fold(f64::INFINITY, f64::min);
        let longest = tried.lengths_mm.iter().copied().fold(0.0, f64::max);
        // Half a millimetre of room is no reason to make a piece longer.
        (fails, -(2.0 * room).round(), longest)
    };
    tried.sort_by(|a, b| {
        let (a, b) = (rank(a), rank(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.total_cmp(&b.2))
    });
    Ok(tried)
}

/// Straight that what the pipe is fixed to needs at its two ends, mm: that of the joint which the scene names there.
fn ends_need(ask: &BreakAsk<'_>, list: &BendList, outside_mm: f64) -> [f64; 2] {
    let mut needs = [0.0f64; 2];
    for joined in &ask.scene.joined {
        let mate = match (joined.one == ask.body.name, joined.other == ask.body.name) {
            (true, _) => &joined.other,
            (_, true) => &joined.one,
            _ => continue,
        };
        let (Some(kind), Some(mate)) = (joined.joint, ask.scene.body(mate)) else { continue };
        let tree = ask.shapes.of_body(mate);
        for (need, end) in needs.iter_mut().zip([list.start, list.end()]) {
            let at = ask.body.world_from_body * Point3::from(end.translation.vector);
            let relative = mate.world_from_body.inverse() * Pose::translation(at.x, at.y, at.z);
            let ball = crate::solid::Shape::Ball(crate::solid::Ball { radius_mm: SEATED_MM });
            let ball = crate::clearance::IndexedShape::new(std::sync::Arc::new(ball));
            if gap(&tree, &ball, &relative).gap.mm() <= 0.0 {
                *need = need.max(joint_size(kind, outside_mm).straight_mm);
            }
        }
    }
    needs
}

/// The first rule of making that a piece breaks.
fn cannot_make(
    ask: &BreakAsk<'_>,
    tube: &crate::solid::Tube,
    lists: &[BendList],
    joint: &JointSize,
) -> Option<String> {
    let by = ask.body.bent_by.as_ref()?;
    let outside_mm = 2.0 * tube.radius_mm;
    let count = lists.len();
    for (at, list) in lists.iter().enumerate() {
        if by == "stock" {
            match plan_from_stock(list, outside_mm, tube.wall_mm, &ask.scene.stock_bends) {
                Ok(Ok(_)) => continue,
                Ok(Err((bend, _))) => {
                    return Some(format!("piece {}: no stock bend makes bend {bend}", at + 1));
                }
                Err(error) => return Some(format!("piece {}: {error}", at + 1)),
            }
        }
        let Some(bender) = ask.scene.benders.iter().find(|bender| bender.name == *by) else {
            return Some(format!("the scene has no bender `{by}`"));
        };
        let material = ask.body.material.as_deref().and_then(TubeMaterial::find);
        let making = Making {
            outside_mm,
            wall_mm: tube.wall_mm,
            elongation: material.map(|one| one.elongation),
            bender,
            start_needs_mm: if at > 0 { joint.straight_mm } else { 0.0 },
            end_needs_mm: if at + 1 < count { joint.straight_mm } else { 0.0 },
            start_extra_mm: f64::INFINITY,
            end_extra_mm: f64::INFINITY,
            stock_bends: &ask.scene.stock_bends,
        };
        let cannot = match check_making(list, &making) {
            Ok(cannot) => cannot,
            Err(error) => return Some(format!("piece {}: {error}", at + 1)),
        };
        if let Some(one) = cannot.iter().find(|one| one.weight == crate::tube::Weight::Cannot) {
            return Some(format!("piece {}: {one}", at + 1));
        }
    }
    None
}
