//! How far a container leans before it meets something: proved.

use std::sync::Arc;

use nalgebra::Unit;

use crate::clearance::IndexedShape;
use crate::solid::{Cylinder, Shape};
use crate::space::{Angle, Axis, pose_of_turn};

use super::room::{across, clear_about, world_from_along};
use super::{AccessError, Bodies, free_travel};

/// A container that pours: a cylinder that stands on its mouth over a spout's upper end and leans about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leaning {
    /// What it leans about, on the spout's line, which goes away from the filler.
    pub over: Axis,
    /// How far its mouth is beyond that, mm.
    pub mouth_mm: f64,
    /// Radius, mm.
    pub radius_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
    /// Which way it leans: an angle about the spout's line, right-handed.
    pub toward: Angle,
    /// How far it is asked to lean.
    pub most: Angle,
}

/// A container closer than this to a body is as good as met, mm.
const MET_MM: f64 = 0.05;

/// How far a container leans from the spout's line, free all the way from upright; zero when it is not free upright.
///
/// # Errors
/// A size that is not above zero; a lean over half a turn.
pub fn leans_free(bodies: &Bodies, without: &[usize], ask: &Leaning) -> Result<Angle, AccessError> {
    AccessError::in_range("the container's radius, mm,", ask.radius_mm, 0.1..=2000.0, "0.1 to 2000 mm")?;
    AccessError::in_range("the container's height, mm,", ask.height_mm, 0.1..=2000.0, "0.1 to 2000 mm")?;
    AccessError::in_range("the mouth's distance, mm,", ask.mouth_mm, 0.0..=2000.0, "0 to 2000 mm")?;
    AccessError::in_range("the lean, rad,", ask.most.rad(), 0.0..=std::f64::consts::PI, "0 to 180 deg")?;
    let container = Shape::Cylinder(Cylinder { radius_mm: ask.radius_mm, length_mm: ask.height_mm });
    let probe = IndexedShape::new(Arc::new(container));
    let upright = world_from_along(&ask.over, ask.mouth_mm + 0.5 * ask.height_mm);
    let out = pose_of_turn(&ask.over, ask.toward) * across(&ask.over.along);
    let hinge = Axis { through: ask.over.through, along: Unit::new_normalize(ask.over.along.cross(&out)) };
    // No point of it is farther from what it leans about than a corner of its top.
    let far_mm = ask.radius_mm.hypot(ask.mouth_mm + ask.height_mm);
    let limit_mm = far_mm * ask.most.rad() + 1.0;
    // In millimetres of the farthest point's way, so that a gap is how far one may go on.
    let gone_mm = free_travel(0.0, far_mm * ask.most.rad(), MET_MM, &mut |gone_mm| {
        let pose = pose_of_turn(&hinge, Angle::from_rad(gone_mm / far_mm)) * upright;
        clear_about(bodies, without, &probe, &pose, limit_mm).gap_mm
    });
    Ok(Angle::from_rad(gone_mm / far_mm))
}
