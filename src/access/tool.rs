//! A tool on a fastener's axis: whether it sits, comes off along the axis, and turns far enough.

use std::sync::Arc;

use nalgebra::{Point3, Unit, Vector3};

use crate::clearance::IndexedShape;
use crate::solid::{Capsule, Compound, Cylinder, Shape};
use crate::space::{Angle, Axis, Pose, pose_of_turn};

use super::room::{RoomAbout, across, clear_about, room_about, world_from_along};
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
    /// Room about the sections on the axis when seated; limit 100 mm.
    pub seated: RoomAbout,
    /// How far the sections rise free along the axis: proved, mm.
    pub rises_mm: f64,
    /// Where the lever points at angle zero; angles turn right-handed about the axis.
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
    let stem = IndexedShape::new(Arc::new(stem(ask.tool)));
    let world_from_stem = |rise_mm: f64| world_from_along(&ask.axis, rise_mm);
    let seated = room_about(ask.bodies, ask.without, &stem, &world_from_stem(0.0), SEATED_LIMIT_MM);
    let horizon_mm = ask.room_mm + ask.off_mm + 1.0;
    let rises_mm = free_travel(0.0, ask.off_mm, 0.01, &mut |rise_mm| {
        clear_about(ask.bodies, ask.without, &stem, &world_from_stem(rise_mm), horizon_mm) - ask.room_mm
    });
    let zero = across(&ask.axis.along);
    let sits = seated.gap_mm >= ask.room_mm && rises_mm >= ask.off_mm;
    let swing = match &ask.tool.lever {
        Some(lever) if sits => Some(lever_swing(ask, lever, &zero)?),
        Some(lever) => lever.in_range().map(|()| None)?,
        None => None,
    };
    let turns = swing.as_ref().is_none_or(|swing| {
        swing.widest().is_some_and(|arc| arc.sweep_rad() >= ask.tool.click.rad() - 1e-12)
    });
    let works = sits && turns;
    Ok(ToolFit { seated, rises_mm, zero, swing, works })
}

fn stem(tool: &Tool) -> Shape {
    let parts = tool.sections_mm.iter().map(|&(from, to, radius_mm)| {
        let section = Shape::Cylinder(Cylinder { radius_mm, length_mm: to - from });
        (Pose::translation(0.0, 0.0, 0.5 * (from + to)), section)
    });
    Shape::Compound(Compound { parts: parts.collect() })
}

fn lever_swing(ask: &ToolAsk<'_>, lever: &Lever, zero: &Unit<Vector3<f64>>) -> Result<Swing, AccessError> {
    lever.in_range()?;
    let bar = Shape::Capsule(Capsule { radius_mm: lever.radius_mm, core_mm: lever.length_mm });
    let root: Point3<f64> = ask.axis.through + ask.axis.along.into_inner() * lever.height_mm;
    let world_from_lever = world_from_along(&Axis { through: root, along: *zero }, 0.5 * lever.length_mm);
    swing(&SwingAsk {
        bodies: ask.bodies,
        without: ask.without,
        lever: &IndexedShape::new(Arc::new(bar)),
        world_from_lever,
        axis: ask.axis,
        from_rad: 0.0,
        to_rad: std::f64::consts::TAU,
        room_mm: ask.room_mm,
        tolerance_rad: Angle::from_deg(0.05).rad(),
    })
}

impl ToolFit {
    /// Where the lever points at an angle.
    pub fn lever_at(&self, axis: &Axis, angle: Angle) -> Unit<Vector3<f64>> {
        pose_of_turn(axis, angle) * self.zero
    }
}
