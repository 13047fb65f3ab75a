//! A tool on a fastener's axis: whether it sits, comes off along the axis, and turns far enough.

use std::sync::Arc;

use nalgebra::{Point3, Unit, UnitQuaternion, Vector3};

use crate::clearance::IndexedShape;
use crate::solid::{Capsule, Compound, Cylinder, Shape};
use crate::space::{Angle, Axis, Pose, pose_of_turn};

use super::room::{RoomAbout, across, clear_about, world_from_along};
use super::{AccessError, Bodies, Swing, SwingAsk, free_travel, swing};

/// A tool as the bay sees it: round sections on the fastener's axis, and a lever across.
#[derive(Clone, Debug, PartialEq)]
pub struct Tool {
    /// What people call it.
    pub name: String,
    /// Round sections along the axis: from, to (mm above the fastener's seat), radius. A socket, an
    /// extension, a ratchet's head.
    pub sections_mm: Vec<(f64, f64, f64)>,
    /// The lever; none for a driver that is turned in the hand.
    pub lever: Option<Lever>,
    /// Turn after which the tool can take a new hold: 5 deg for a 72-tooth ratchet (360 / 72), 30
    /// for a 12-point ring, 60 for a 6-point one.
    pub click: Angle,
    /// How what is above a joint leans; none for a straight tool.
    pub lean: Option<Lean>,
}

/// The sections that begin at or above a joint, and the lever, lie on an axis that leans off the fastener's: a wobble
/// extension, a universal joint. The leaning part turns about its own axis; the joint carries the turn on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lean {
    /// Height of the joint above the fastener's seat, mm. Heights above it are measured along the leaning axis.
    pub at_mm: f64,
    /// How far the axis leans.
    pub by: Angle,
    /// Which way: an angle about the fastener's axis, right-handed from [`Tool::zero`].
    pub toward: Angle,
}

/// A round-ended bar across the axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lever {
    /// Height of its middle line above the fastener's seat, mm.
    pub height_mm: f64,
    /// From the axis to the middle of its round end, mm.
    pub length_mm: f64,
    /// Radius, mm; a hand's fingers round it are part of it.
    pub radius_mm: f64,
    /// How far its free end is raised from square to the axis: a flex head. It then sweeps a cone.
    pub rise: Angle,
}

impl Lever {
    fn in_range(&self) -> Result<(), AccessError> {
        AccessError::in_range("the lever's length, mm,", self.length_mm, 0.1..=5000.0, "0.1 to 5000 mm")?;
        AccessError::in_range("the lever's radius, mm,", self.radius_mm, 0.01..=500.0, "0.01 to 500 mm")?;
        Ok(())
    }
}

/// Which fastener, which tool, and what may be in the way.
#[derive(Clone, Debug)]
pub struct ToolAsk<'a> {
    /// What may be in the way.
    pub bodies: &'a Bodies,
    /// Bodies taken off first, and the fastener itself.
    pub without: &'a [usize],
    /// The tool.
    pub tool: &'a Tool,
    /// Through the fastener's seat, away from what it holds.
    pub axis: Axis,
    /// How far the tool must rise to come off, mm.
    pub off_mm: f64,
    /// Gap that the tool must keep, mm.
    pub room_mm: f64,
}

/// How a tool does on a fastener.
#[derive(Clone, Debug, PartialEq)]
pub struct ToolFit {
    /// Room about the sections on the axis when seated; limit 100 mm, zero where they meet a body.
    pub seated: RoomAbout,
    /// How far the sections rise free along the axis: proved, mm.
    pub rises_mm: f64,
    /// What the lever turns about: the fastener's axis, or the leaning one.
    pub turns_about: Axis,
    /// Where the lever points at angle zero, were it not raised; angles turn right-handed about [`Self::turns_about`].
    pub zero: Unit<Vector3<f64>>,
    /// Where the lever is free; none when the tool has no lever, or neither sits nor comes off.
    pub swing: Option<Swing>,
    /// Whether it sits, comes off, and turns at least a click: proved.
    pub works: bool,
}

/// Far enough that nothing about a seated tool matters, mm.
const SEATED_LIMIT_MM: f64 = 100.0;

/// Whether a tool works on a fastener. The lever is tried at every angle; its entry sideways is not
/// looked at: it is put on with the sections, along the axis.
///
/// # Errors
/// A number out of its range; a tool without any section.
pub fn tool_on_axis(ask: &ToolAsk<'_>) -> Result<ToolFit, AccessError> {
    let sections = ask.tool.sections_mm.len() as f64;
    AccessError::in_range("the number of the tool's sections", sections, 1.0..=100.0, "1 to 100")?;
    for &(from, to, radius) in &ask.tool.sections_mm {
        AccessError::in_range("a tool section's length, mm,", to - from, 0.01..=5000.0, "0.01 to 5000 mm")?;
        AccessError::in_range("a tool section's radius, mm,", radius, 0.01..=1000.0, "0.01 to 1000 mm")?;
    }
    AccessError::in_range("the rise to come off, mm,", ask.off_mm, 0.0..=5000.0, "0 to 5000 mm")?;
    AccessError::in_range("the room to keep, mm,", ask.room_mm, 0.0..=1000.0, "0 to 1000 mm")?;
    if let Some(lean) = &ask.tool.lean {
        AccessError::in_range("the lean, rad,", lean.by.rad(), 0.0..=LEAN_MOST_RAD, "0 to 75 deg")?;
    }
    let stem = ask.tool.seated(&ask.axis, None);
    let world_from_stem = |rise_mm: f64| shifted(&ask.axis.along, rise_mm);
    let seated = clear_about(ask.bodies, ask.without, &stem, &world_from_stem(0.0), SEATED_LIMIT_MM);
    let horizon_mm = ask.room_mm + ask.off_mm + 1.0;
    let rises_mm = free_travel(0.0, ask.off_mm, 0.01, &mut |rise_mm| {
        clear_about(ask.bodies, ask.without, &stem, &world_from_stem(rise_mm), horizon_mm).gap_mm
            - ask.room_mm
    });
    let turns_about = ask.tool.turns_about(&ask.axis);
    let zero = Tool::zero(&turns_about);
    let sits = seated.gap_mm > 0.0 && seated.gap_mm >= ask.room_mm && rises_mm >= ask.off_mm;
    let swing = match &ask.tool.lever {
        Some(lever) if sits => Some(lever_swing(ask, lever, &turns_about)?),
        Some(lever) => lever.in_range().map(|()| None)?,
        None => None,
    };
    let turns = swing.as_ref().is_none_or(|swing| {
        swing.widest().is_some_and(|arc| arc.sweep_rad() >= ask.tool.click.rad() - 1e-12)
    });
    let works = sits && turns;
    Ok(ToolFit { seated, rises_mm, turns_about, zero, swing, works })
}

/// A lever leans no further than this, radians: 75 deg.
const LEAN_MOST_RAD: f64 = 5.0 * std::f64::consts::PI / 12.0;

impl Tool {
    /// Where a lever points at angle zero about an axis, were it not raised.
    pub fn zero(turns_about: &Axis) -> Unit<Vector3<f64>> {
        across(&turns_about.along)
    }

    /// What lever and upper sections turn about, the tool being seated on a fastener's axis.
    pub fn turns_about(&self, axis: &Axis) -> Axis {
        let Some(lean) = self.lean else { return *axis };
        let out = pose_of_turn(axis, lean.toward) * Self::zero(axis);
        let Some(hinge) = Unit::try_new(axis.along.cross(&out), 1e-9) else { return *axis };
        let joint = axis.through + axis.along.into_inner() * lean.at_mm;
        let along = UnitQuaternion::from_axis_angle(&hinge, lean.by.rad()) * axis.along;
        Axis { through: joint - along.into_inner() * lean.at_mm, along }
    }

    /// The sections, and the lever at an angle when one is given, as they stand in the world when seated on an axis.
    fn seated(&self, axis: &Axis, lever_at: Option<Angle>) -> IndexedShape {
        let upper = self.turns_about(axis);
        let mut parts: Vec<(Pose, Shape)> = self
            .sections_mm
            .iter()
            .map(|&(from, to, radius_mm)| {
                let section = Shape::Cylinder(Cylinder { radius_mm, length_mm: to - from });
                let leans = self.lean.is_some_and(|lean| from >= lean.at_mm);
                (world_from_along(if leans { &upper } else { axis }, 0.5 * (from + to)), section)
            })
            .collect();
        if let (Some(angle), Some(lever)) = (lever_at, &self.lever) {
            let turn = pose_of_turn(&upper, angle);
            parts.push((turn * lever.pose(&upper), lever.shape()));
        }
        IndexedShape::new(Arc::new(Shape::Compound(Compound { parts })))
    }
}

/// Moved along a direction.
fn shifted(along: &Unit<Vector3<f64>>, by_mm: f64) -> Pose {
    let shift = along.into_inner() * by_mm;
    Pose::translation(shift.x, shift.y, shift.z)
}

impl Lever {
    fn shape(&self) -> Shape {
        Shape::Capsule(Capsule { radius_mm: self.radius_mm, core_mm: self.length_mm })
    }

    /// Where the bar lies at angle zero about an axis.
    fn pose(&self, turns_about: &Axis) -> Pose {
        let root = turns_about.through + turns_about.along.into_inner() * self.height_mm;
        let out = self.points(turns_about, &Tool::zero(turns_about));
        world_from_along(&Axis { through: root, along: out }, 0.5 * self.length_mm)
    }

    /// The direction of the bar where it would point along `flat` were it not raised.
    fn points(&self, turns_about: &Axis, flat: &Unit<Vector3<f64>>) -> Unit<Vector3<f64>> {
        let (sin, cos) = self.rise.rad().sin_cos();
        Unit::new_normalize(flat.into_inner() * cos + turns_about.along.into_inner() * sin)
    }

    /// A point of its middle line, so far from the axis along the bar, with the bar at an angle.
    pub fn at(&self, turns_about: &Axis, angle: Angle, out_mm: f64) -> Point3<f64> {
        let flat = pose_of_turn(turns_about, angle) * Tool::zero(turns_about);
        let root = turns_about.through + turns_about.along.into_inner() * self.height_mm;
        root + self.points(turns_about, &flat).into_inner() * out_mm
    }
}

fn lever_swing(ask: &ToolAsk<'_>, lever: &Lever, turns_about: &Axis) -> Result<Swing, AccessError> {
    lever.in_range()?;
    swing(&SwingAsk {
        bodies: ask.bodies,
        without: ask.without,
        lever: &IndexedShape::new(Arc::new(lever.shape())),
        world_from_lever: lever.pose(turns_about),
        axis: *turns_about,
        from_rad: 0.0,
        to_rad: std::f64::consts::TAU,
        room_mm: ask.room_mm,
        tolerance_rad: Angle::from_deg(0.05).rad(),
    })
}

/// Which way a tool comes off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TakenOff {
    /// Up the fastener's axis.
    Along,
    /// Outward along its own lever: an open jaw.
    Back,
}

/// How far a close tool is followed until it is called met, mm.
const TRAVEL_TOLERANCE_MM: f64 = 0.02;

/// Whether the whole tool comes off with its lever at an angle: proved over the way of `off_mm`.
pub fn tool_comes_off(ask: &ToolAsk<'_>, lever_at: Angle, taken_off: TakenOff) -> bool {
    let probe = ask.tool.seated(&ask.axis, Some(lever_at));
    let way = match taken_off {
        TakenOff::Along => ask.axis.along,
        TakenOff::Back => {
            let turns_about = ask.tool.turns_about(&ask.axis);
            pose_of_turn(&turns_about, lever_at) * Tool::zero(&turns_about)
        }
    };
    let horizon_mm = ask.off_mm + ask.room_mm + 1.0;
    free_travel(0.0, ask.off_mm, TRAVEL_TOLERANCE_MM, &mut |gone_mm| {
        clear_about(ask.bodies, ask.without, &probe, &shifted(&way, gone_mm), horizon_mm).gap_mm - ask.room_mm
    }) >= ask.off_mm
}

impl ToolFit {
    /// Where the lever points at an angle, were it not raised.
    pub fn lever_at(&self, angle: Angle) -> Unit<Vector3<f64>> {
        pose_of_turn(&self.turns_about, angle) * self.zero
    }
}
