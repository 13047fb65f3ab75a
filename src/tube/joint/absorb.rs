//! What a joint can take up, and what a movement asks of it.

use std::fmt;

use nalgebra::{Point3, Unit, Vector3};

use super::table::JointSize;
use crate::space::Pose;

/// What a joint takes up. Half the stretch each way, out and in, is `stretch_mm`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Absorbs {
    /// Angle between the two tubes' axes, rad.
    pub angle_rad: f64,
    /// Turn about the axis, rad.
    pub twist_rad: f64,
    /// Sideways offset of the two axes, mm.
    pub offset_mm: f64,
    /// Lengthening or shortening, mm.
    pub stretch_mm: f64,
}

/// What a relative movement of its two sides asks of a joint.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Demand {
    /// Angle between the axes, rad.
    pub angle_rad: f64,
    /// Sideways offset, mm.
    pub offset_mm: f64,
    /// Lengthening (positive) or shortening, mm.
    pub stretch_mm: f64,
    /// Turn about the axis, rad.
    pub twist_rad: f64,
}

impl Demand {
    /// Growth (or any shift) besides the movement, mm, along and across the axis: the worse side of both.
    pub fn with_shift(&self, shift: &Vector3<f64>, axis: &Unit<Vector3<f64>>) -> Demand {
        let along = shift.dot(axis);
        let across = (shift - axis.into_inner() * along).norm();
        let stretch_mm = (self.stretch_mm.abs() + along.abs()).copysign(self.stretch_mm + along);
        Demand { offset_mm: self.offset_mm + across, stretch_mm, ..*self }
    }

    /// The greater of two in every part.
    pub fn worst(&self, other: &Demand) -> Demand {
        let greater = |a: f64, b: f64| if b.abs() > a.abs() { b } else { a };
        Demand {
            angle_rad: greater(self.angle_rad, other.angle_rad),
            offset_mm: greater(self.offset_mm, other.offset_mm),
            stretch_mm: greater(self.stretch_mm, other.stretch_mm),
            twist_rad: greater(self.twist_rad, other.twist_rad),
        }
    }
}

/// What a movement of one side of a joint against the other asks of it; `moved` is that movement in the frame of
/// `at` (on the axis, where the joint is) and `axis` (out of the side that moves, toward the other).
pub fn demand(at: &Point3<f64>, axis: &Unit<Vector3<f64>>, moved: &Pose) -> Demand {
    let shift = moved * at - at;
    let along = shift.dot(axis);
    let turned = moved * axis.into_inner();
    let angle_rad = turned.cross(axis).norm().atan2(turned.dot(axis));
    // The part of the turn about the axis itself (swing-twist).
    let q = moved.rotation.quaternion();
    let twist_rad = 2.0 * q.imag().dot(axis).atan2(q.w);
    let twist_rad = twist_rad - std::f64::consts::TAU * (twist_rad / std::f64::consts::TAU).round();
    Demand {
        angle_rad,
        offset_mm: (shift - axis.into_inner() * along).norm(),
        // The side that moves away from the other opens the joint.
        stretch_mm: -along,
        twist_rad,
    }
}

/// A joint that cannot take up what is asked, and what could.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JointShortfall {
    /// The joint.
    pub joint: JointSize,
    /// What is asked.
    pub demand: Demand,
    /// The first kind that takes it up on the same tube, if one does.
    pub instead: Option<super::JointKind>,
}

/// Less than this is no twist, rad: what a bolted joint gives.
const NO_TWIST_RAD: f64 = 1e-3;

impl JointSize {
    /// Whether the joint takes up a demand; its parts are judged each by itself.
    pub fn takes(&self, demand: &Demand) -> bool {
        let absorbs = &self.absorbs;
        demand.angle_rad <= absorbs.angle_rad + 1e-9
            && demand.offset_mm <= absorbs.offset_mm + 1e-9
            && demand.stretch_mm.abs() <= absorbs.stretch_mm + 1e-9
            && demand.twist_rad.abs() <= absorbs.twist_rad.max(NO_TWIST_RAD)
    }

    /// What is short, and the kind that would do: slip, coupler and bellows are tried in that order.
    pub fn shortfall(&self, demand: &Demand) -> Option<JointShortfall> {
        use super::JointKind::{Bellows, Coupler, Slip};
        if self.takes(demand) {
            return None;
        }
        let instead = [Slip, Coupler, Bellows]
            .into_iter()
            .find(|kind| super::joint_size(*kind, self.outside_mm).takes(demand));
        Some(JointShortfall { joint: *self, demand: *demand, instead })
    }
}

impl fmt::Display for JointShortfall {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (has, wants) = (&self.joint.absorbs, &self.demand);
        write!(
            f,
            "a {} on {:.1} mm takes up {:.2} deg, {:.2} mm sideways and {:.2} mm along; asked are {:.2} deg, {:.2} mm \
             and {:.2} mm ({}); ",
            self.joint.kind.word(),
            self.joint.outside_mm,
            has.angle_rad.to_degrees(),
            has.offset_mm,
            has.stretch_mm,
            wants.angle_rad.to_degrees(),
            wants.offset_mm,
            wants.stretch_mm,
            self.joint.source
        )?;
        if wants.twist_rad.abs() > NO_TWIST_RAD {
            let (asked, has) = (wants.twist_rad.abs().to_degrees(), has.twist_rad.to_degrees());
            write!(f, "it is twisted by {asked:.2} deg where it takes {has:.2}; ")?;
        }
        match self.instead {
            Some(kind) => write!(f, "a {} would take it", kind.word()),
            None => write!(f, "no single joint here takes it: use two, or carry both ends on one carrier"),
        }
    }
}
