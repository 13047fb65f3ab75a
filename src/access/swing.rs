//! How far a lever turns: the free angles about an axis, proved.

use nalgebra::{Point3, Vector3};

use crate::clearance::{ApartUnder, GapUnder, IndexedShape, apart_under, gap_under};
use crate::solid::{Piece, Shape};
use crate::space::{Angle, Axis, Bounds, Length, Pose, pose_of_turn};

use super::{AccessError, Bodies, free_intervals};

/// Farther off than this share of a radian's swing, all is alike.
const HORIZON_RAD: f64 = 0.5;
/// A turn that boxes alone may prove free is at least so wide, rad.
const BOXES_RAD: f64 = 0.1;

/// Which lever turns about what.
#[derive(Clone, Debug)]
pub struct SwingAsk<'a> {
    /// What may be in the way.
    pub bodies: &'a Bodies,
    /// Bodies taken off first, and the fastener itself.
    pub without: &'a [usize],
    /// The lever.
    pub lever: &'a IndexedShape,
    /// Where it stands at angle zero.
    pub world_from_lever: Pose,
    /// What it turns about, right-handed.
    pub axis: Axis,
    /// Least angle, radians.
    pub from_rad: f64,
    /// Greatest angle, radians, at most a full turn more.
    pub to_rad: f64,
    /// Gap that it must keep, mm.
    pub room_mm: f64,
    /// How closely the ends of an arc are found, radians.
    pub tolerance_rad: f64,
}

/// An arc over which the lever keeps its room: proved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FreeArc {
    /// Least angle, radians.
    pub from_rad: f64,
    /// Greatest angle, radians; may exceed a full turn when the arc runs past where it began.
    pub to_rad: f64,
    /// The body that stops it at the least angle; none at the range's end.
    pub stopped_from: Option<usize>,
    /// The body that stops it at the greatest.
    pub stopped_to: Option<usize>,
}

impl FreeArc {
    /// How far the lever turns in it, radians.
    pub fn sweep_rad(&self) -> f64 {
        self.to_rad - self.from_rad
    }
}

/// All free arcs of a lever.
#[derive(Clone, Debug, PartialEq)]
pub struct Swing {
    /// In order of angle; none overlap. A full free turn is one arc of 2 pi.
    pub arcs: Vec<FreeArc>,
}

impl Swing {
    /// The widest arc.
    pub fn widest(&self) -> Option<&FreeArc> {
        self.arcs.iter().max_by(|a, b| a.sweep_rad().total_cmp(&b.sweep_rad()))
    }

    /// Sweep of the widest arc of a lever that lies at the end of its range as it does at the beginning, rad: an arc that
    /// runs out of the range goes on where the range begins. At most the range.
    pub fn widest_round_rad(&self) -> f64 {
        let widest_rad = self.widest().map_or(0.0, FreeArc::sweep_rad);
        let joined_rad = match (self.arcs.first(), self.arcs.last()) {
            (Some(first), Some(last))
                if self.arcs.len() > 1 && first.stopped_from.is_none() && last.stopped_to.is_none() =>
            {
                first.sweep_rad() + last.sweep_rad()
            }
            _ => 0.0,
        };
        widest_rad.max(joined_rad)
    }
}

/// The free arcs of a lever. Arcs narrower than the tolerance may be missed; none is called free
/// that is not.
///
/// # Errors
/// A number out of its range.
pub fn swing(ask: &SwingAsk<'_>) -> Result<Swing, AccessError> {
    let full = std::f64::consts::TAU;
    AccessError::in_range("the least angle, radians,", ask.from_rad, -100.0..=100.0, "-100 to 100")?;
    let range = ask.to_rad - ask.from_rad;
    AccessError::in_range("the range of angles, radians,", range, 0.0..=full + 1e-9, "0 to 2 pi")?;
    AccessError::in_range("the tolerance, radians,", ask.tolerance_rad, 1e-6..=0.1, "1e-6 to 0.1")?;
    AccessError::in_range("the room to keep, mm,", ask.room_mm, 0.0..=1000.0, "0 to 1000 mm")?;
    let speed_mm = lever_mm(&ask.lever.shape().bounds().moved(&ask.world_from_lever), &ask.axis);
    let core = LeverCore::of(ask.lever);
    let whole_turn = range >= full - 1e-9;
    let mut arcs =
        vec![FreeArc { from_rad: ask.from_rad, to_rad: ask.to_rad, stopped_from: None, stopped_to: None }];
    // Body by body, each within what the ones before it left: one that is far off is done with at a glance, and a
    // near one does not make all others be looked at as closely.
    for body in within_reach(ask, speed_mm) {
        let mut left = Vec::new();
        for arc in &arcs {
            let free =
                free_intervals(arc.from_rad, arc.to_rad, speed_mm, ask.tolerance_rad, &mut |angle_rad| {
                    gap_to(ask, &core, body, angle_rad, speed_mm) - ask.room_mm
                });
            left.extend(free.iter().map(|found| FreeArc {
                from_rad: found.from,
                to_rad: found.to,
                stopped_from: if found.from > arc.from_rad { Some(body) } else { arc.stopped_from },
                stopped_to: if found.to < arc.to_rad { Some(body) } else { arc.stopped_to },
            }));
        }
        arcs = left;
    }
    if whole_turn && arcs.len() > 1 {
        let (first, last) = (arcs[0], arcs[arcs.len() - 1]);
        if first.from_rad <= ask.from_rad && last.to_rad >= ask.to_rad {
            arcs.remove(0);
            if let Some(last) = arcs.last_mut() {
                last.to_rad = first.to_rad + full;
                last.stopped_to = first.stopped_to;
            }
        }
    }
    Ok(Swing { arcs })
}

/// Bodies that the lever could come near to, in the order of their numbers.
fn within_reach(ask: &SwingAsk<'_>, speed_mm: f64) -> Vec<usize> {
    // No point of the lever is farther from this point of the axis than from any other of its own height.
    let box_of_lever = ask.lever.shape().bounds().moved(&ask.world_from_lever);
    let heights = box_of_lever.corners().map(|corner| (corner - ask.axis.through).dot(&ask.axis.along));
    let (low, high) = heights
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), mm| (low.min(*mm), high.max(*mm)));
    let ends = [low, high].map(|mm| ask.axis.through + ask.axis.along.into_inner() * mm);
    let disc = Bounds {
        min: ends[0].coords.inf(&ends[1].coords).into(),
        max: ends[0].coords.sup(&ends[1].coords).into(),
    };
    let about = disc.grown(speed_mm + ask.room_mm);
    (0..ask.bodies.list().len())
        .filter(|body| !ask.without.contains(body) && ask.bodies.bounds_of(*body).gap_mm(&about) <= 0.0)
        .collect()
}

/// A round-ended bar is asked about by its middle line: how deep the bar overlaps then is known
/// without asking for it, but for where the line itself goes through a body.
struct LeverCore {
    /// The middle line, of no thickness; none for a lever of another shape.
    line: Option<IndexedShape>,
    radius_mm: f64,
}

impl LeverCore {
    fn of(lever: &IndexedShape) -> Self {
        let Shape::Capsule(bar) = &**lever.shape() else { return LeverCore { line: None, radius_mm: 0.0 } };
        let half = Vector3::z() * (0.5 * bar.core_mm);
        let ends = [Point3::from(-half), Point3::from(half)];
        let line = Piece::Capsule { from: ends[0], to: ends[1], radius_mm: 0.0 };
        LeverCore { line: Some(IndexedShape::of_pieces(&[line])), radius_mm: bar.radius_mm }
    }
}

/// The gap between the lever at an angle and one body, mm: exact when positive, otherwise at least
/// so deep an overlap. Gaps beyond the horizon are all alike.
fn gap_to(ask: &SwingAsk<'_>, core: &LeverCore, body: usize, angle_rad: f64, speed_mm: f64) -> f64 {
    let world_from_lever = pose_of_turn(&ask.axis, Angle::from_rad(angle_rad)) * ask.world_from_lever;
    let limit_mm = ask.room_mm + speed_mm * HORIZON_RAD;
    let about = ask.lever.shape().bounds().moved(&world_from_lever);
    let apart_mm = ask.bodies.bounds_of(body).gap_mm(&about);
    if apart_mm >= limit_mm {
        return limit_mm;
    }
    // Where the boxes prove enough of a turn free, the solids need not be asked.
    if apart_mm > ask.room_mm + speed_mm * BOXES_RAD {
        return apart_mm;
    }
    let standing = &ask.bodies.list()[body];
    let body_from_lever = standing.world_from_body.inv_mul(&world_from_lever);
    let round_mm = standing.cover_mm + core.radius_mm;
    let limit = Length::from_mm(limit_mm + round_mm);
    match &core.line {
        Some(line) => match apart_under(&standing.shape, line, &body_from_lever, limit) {
            ApartUnder::Under(found) => found.gap.mm() - round_mm,
            ApartUnder::Meeting => -round_mm,
            ApartUnder::Clear { .. } => limit_mm,
        },
        None => match gap_under(&standing.shape, ask.lever, &body_from_lever, limit) {
            GapUnder::Under(found) => found.gap.mm() - round_mm,
            GapUnder::Clear { .. } => limit_mm,
        },
    }
}

/// The farthest that any point of a box is from an axis, mm: at a corner, since that distance is convex.
fn lever_mm(bounds: &Bounds, axis: &Axis) -> f64 {
    bounds.corners().iter().map(|corner| axis.distance(corner)).fold(0.0, f64::max)
}
