//! Free room: the gap between a probe solid and whatever is near it.
//!
//! A gripping hand is a cylinder about the cap's axis; a spout is a capsule along the filler's.
//! Leaves to others: how the hand gets there (`corridor/`).

use std::sync::Arc;

use nalgebra::{Point3, Unit, UnitQuaternion, Vector3};

use crate::clearance::{ApartUnder, GapUnder, IndexedShape, apart_under, closest, gap_under};
use crate::solid::{Capsule, Cylinder, Shape};
use crate::space::{Axis, Length, Pose};

use super::{AccessError, Bodies};

/// The gap between a probe and the bodies round it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoomAbout {
    /// Signed gap to the nearest body's cover, mm; negative is overlap depth. The limit asked for
    /// when nothing is nearer.
    pub gap_mm: f64,
    /// Which body and where; none when nothing is under the limit.
    pub nearest: Option<RoomWitness>,
}

/// Where a probe has least room.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoomWitness {
    /// Number of the body.
    pub body: usize,
    /// On the bare body, in the world.
    pub on_body: Point3<f64>,
    /// On the probe, in the world.
    pub on_probe: Point3<f64>,
}

/// The least gap between a probe and the bodies, but for those taken off or served; gaps of
/// `limit_mm` and more are all alike.
pub fn room_about(
    bodies: &Bodies,
    without: &[usize],
    probe: &IndexedShape,
    world_from_probe: &Pose,
    limit_mm: f64,
) -> RoomAbout {
    let mut room = RoomAbout { gap_mm: limit_mm, nearest: None };
    let about = probe.shape().bounds().moved(world_from_probe);
    bodies.visit_near(&about, limit_mm, |body| {
        if without.contains(&body) || bodies.bounds_of(body).gap_mm(&about) >= room.gap_mm.max(0.0) + 1e-9 {
            return room.gap_mm.max(0.0);
        }
        let standing = &bodies.list()[body];
        let body_from_probe = standing.world_from_body.inv_mul(world_from_probe);
        let limit = Length::from_mm(room.gap_mm + standing.cover_mm);
        if let GapUnder::Under(found) = gap_under(&standing.shape, probe, &body_from_probe, limit) {
            let gap_mm = found.gap.mm() - standing.cover_mm;
            if gap_mm < room.gap_mm {
                room = RoomAbout {
                    gap_mm,
                    nearest: Some(RoomWitness {
                        body,
                        on_body: standing.world_from_body * found.witness.on_fixed,
                        on_probe: standing.world_from_body * found.witness.on_moving,
                    }),
                };
            }
        }
        room.gap_mm.max(0.0)
    });
    room
}

/// As [`room_about`], but does not ask how deep a probe is in what it meets, which costs far more than all the rest: the
/// gap is zero there, the body the first that was seen to be met, and the places where that is nearest to the probe's middle.
pub fn clear_about(
    bodies: &Bodies,
    without: &[usize],
    probe: &IndexedShape,
    world_from_probe: &Pose,
    limit_mm: f64,
) -> RoomAbout {
    let mut room = RoomAbout { gap_mm: limit_mm, nearest: None };
    let about = probe.shape().bounds().moved(world_from_probe);
    bodies.visit_near(&about, limit_mm, |body| {
        let met = room.gap_mm <= 0.0;
        if met || without.contains(&body) || bodies.bounds_of(body).gap_mm(&about) >= room.gap_mm {
            return room.gap_mm;
        }
        let standing = &bodies.list()[body];
        let body_from_probe = standing.world_from_body.inv_mul(world_from_probe);
        let limit = Length::from_mm(room.gap_mm + standing.cover_mm);
        let (gap_mm, on_body, on_probe) = match apart_under(&standing.shape, probe, &body_from_probe, limit) {
            ApartUnder::Clear { .. } => return room.gap_mm,
            ApartUnder::Under(found) => (
                (found.gap.mm() - standing.cover_mm).max(0.0),
                found.witness.on_fixed,
                found.witness.on_moving,
            ),
            ApartUnder::Meeting => {
                let middle = standing.world_from_body.inverse() * about.center();
                (0.0, closest(&standing.shape, &middle).point, middle)
            }
        };
        if gap_mm < room.gap_mm {
            let world = |at: Point3<f64>| standing.world_from_body * at;
            let nearest = RoomWitness { body, on_body: world(on_body), on_probe: world(on_probe) };
            room = RoomAbout { gap_mm, nearest: Some(nearest) };
        }
        room.gap_mm
    });
    room
}

/// The pose of a solid whose own z axis lies along an axis of the world, its origin `up_mm` along it.
pub(super) fn world_from_along(axis: &Axis, up_mm: f64) -> Pose {
    let turn = UnitQuaternion::rotation_between(&Vector3::z(), &axis.along)
        .unwrap_or_else(|| UnitQuaternion::from_axis_angle(&Vector3::x_axis(), std::f64::consts::PI));
    let at = axis.through + axis.along.into_inner() * up_mm;
    Pose::from_parts(at.coords.into(), turn)
}

/// Room about a cap for the hand that turns it: a cylinder from the point to `height_mm` along the axis.
///
/// The axis passes through the service point and heads away from the cap. The cap itself must be
/// among `without`: the hand is about it.
///
/// # Errors
/// A radius or height that is not above zero.
pub fn turn_room(
    bodies: &Bodies,
    without: &[usize],
    axis: &Axis,
    radius_mm: f64,
    height_mm: f64,
    limit_mm: f64,
) -> Result<RoomAbout, AccessError> {
    AccessError::in_range("the grip radius, mm,", radius_mm, 0.1..=2000.0, "0.1 to 2000 mm")?;
    AccessError::in_range("the grip height, mm,", height_mm, 0.1..=2000.0, "0.1 to 2000 mm")?;
    let grip = Shape::Cylinder(Cylinder { radius_mm, length_mm: height_mm });
    let pose = world_from_along(axis, 0.5 * height_mm);
    Ok(room_about(bodies, without, &IndexedShape::new(Arc::new(grip)), &pose, limit_mm))
}

/// Room for a spout held above a filler: a round-ended bar that touches the mouth with its lower
/// end and whose core ends `length_mm` above it. A full ring about it is free when the gap is.
///
/// # Errors
/// A radius that is not above zero; a length under the radius.
pub fn pour_room(
    bodies: &Bodies,
    without: &[usize],
    axis: &Axis,
    radius_mm: f64,
    length_mm: f64,
    limit_mm: f64,
) -> Result<RoomAbout, AccessError> {
    AccessError::in_range("the spout radius, mm,", radius_mm, 0.1..=500.0, "0.1 to 500 mm")?;
    AccessError::in_range(
        "the spout length, mm,",
        length_mm,
        radius_mm..=5000.0,
        "the spout radius to 5000 mm",
    )?;
    let spout = Shape::Capsule(Capsule { radius_mm, core_mm: length_mm - radius_mm });
    let pose = world_from_along(axis, 0.5 * (length_mm + radius_mm));
    Ok(room_about(bodies, without, &IndexedShape::new(Arc::new(spout)), &pose, limit_mm))
}

/// Any direction at a right angle to another.
pub(super) fn across(along: &Unit<Vector3<f64>>) -> Unit<Vector3<f64>> {
    let least = along.iamin();
    let other = Vector3::ith(least, 1.0);
    Unit::new_normalize(other - along.into_inner() * along.dot(&other))
}
