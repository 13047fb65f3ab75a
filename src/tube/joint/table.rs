//! Sizes of joints by the tube's diameter.

use super::absorb::Absorbs;
use super::kind::JointKind;
use crate::solid::{Cylinder, Shape};
use crate::space::Pose;

/// One row of the table: each figure is a constant (mm or deg) and a share of the outside diameter.
#[derive(Clone, Copy, Debug, PartialEq)]
struct JointTable {
    /// The kind.
    kind: JointKind,
    /// Length of tube that it covers, mm + share.
    length: (f64, f64),
    /// Straight tube that it needs on either side of its middle, mm + share.
    straight: (f64, f64),
    /// How far it stands out beyond the tube all round, mm + share.
    stands_out: (f64, f64),
    /// How far its bolt, screw or lug stands out beyond the tube on one side, mm + share.
    screw_out: (f64, f64),
    /// Free length beside that screw for a tool and the hand that holds it, mm.
    tool_mm: f64,
    /// Free room round the joint for fingers, mm; a torch for a weld.
    hand_mm: f64,
    /// Angle that it takes up, deg.
    angle_deg: f64,
    /// Turn about its own axis that it takes up, deg.
    twist_deg: f64,
    /// Sideways offset that it takes up, mm + share.
    offset: (f64, f64),
    /// Lengthening or shortening that it takes up, mm + share.
    stretch: (f64, f64),
}

/// Our own parametrisation by outside diameter. All of it is `common practice, no source`: a slip and a hose over beads turn
/// a little where they grip, bellows tear when they are twisted, and what is welded, bolted or banded turns not at all.
const TABLE: [JointTable; 6] = [
    JointTable {
        kind: JointKind::Weld,
        length: (4.0, 0.0),
        straight: (5.0, 0.0),
        stands_out: (1.5, 0.0),
        screw_out: (1.5, 0.0),
        tool_mm: 150.0,
        hand_mm: 75.0,
        angle_deg: 0.0,
        twist_deg: 0.0,
        offset: (0.0, 0.0),
        stretch: (0.0, 0.0),
    },
    JointTable {
        kind: JointKind::VBand,
        length: (22.0, 0.05),
        straight: (15.0, 0.0),
        stands_out: (12.0, 0.0),
        screw_out: (32.0, 0.0),
        tool_mm: 120.0,
        hand_mm: 45.0,
        angle_deg: 0.0,
        twist_deg: 0.0,
        offset: (0.0, 0.0),
        stretch: (0.0, 0.0),
    },
    JointTable {
        kind: JointKind::Slip,
        length: (20.0, 0.75),
        straight: (15.0, 0.75),
        stands_out: (5.0, 0.0),
        screw_out: (25.0, 0.0),
        tool_mm: 120.0,
        hand_mm: 45.0,
        angle_deg: 1.0,
        twist_deg: 3.0,
        offset: (0.5, 0.0),
        stretch: (5.0, 0.0),
    },
    JointTable {
        kind: JointKind::Flange,
        length: (20.0, 0.0),
        straight: (12.0, 0.0),
        stands_out: (20.0, 0.15),
        screw_out: (20.0, 0.15),
        tool_mm: 150.0,
        hand_mm: 45.0,
        angle_deg: 0.0,
        twist_deg: 0.0,
        offset: (0.0, 0.0),
        stretch: (0.0, 0.0),
    },
    JointTable {
        kind: JointKind::Coupler,
        length: (45.0, 0.5),
        straight: (30.0, 0.25),
        stands_out: (7.0, 0.0),
        screw_out: (20.0, 0.0),
        tool_mm: 120.0,
        hand_mm: 45.0,
        angle_deg: 4.0,
        twist_deg: 5.0,
        offset: (1.5, 0.02),
        stretch: (3.0, 0.02),
    },
    JointTable {
        kind: JointKind::Bellows,
        length: (40.0, 1.5),
        straight: (15.0, 0.0),
        stands_out: (6.0, 0.1),
        screw_out: (6.0, 0.1),
        tool_mm: 150.0,
        hand_mm: 75.0,
        angle_deg: 10.0,
        twist_deg: 0.5,
        offset: (3.0, 0.08),
        stretch: (5.0, 0.12),
    },
];

/// A joint on a tube of one diameter. All lengths mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JointSize {
    /// The kind.
    pub kind: JointKind,
    /// Outside diameter of the tube.
    pub outside_mm: f64,
    /// Length of tube that it covers.
    pub length_mm: f64,
    /// Straight tube that it needs on either side of its middle.
    pub straight_mm: f64,
    /// Its own outside diameter.
    pub joint_mm: f64,
    /// How far from the axis its screw reaches, on one side.
    pub screw_mm: f64,
    /// Free length beside the screw.
    pub tool_mm: f64,
    /// Free room round it.
    pub hand_mm: f64,
    /// What it takes up.
    pub absorbs: Absorbs,
    /// Where the figures come from.
    pub source: &'static str,
}

/// Sizes of a joint of a kind on a tube of an outside diameter.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::tube::{JointKind, joint_size};
/// let band = joint_size(JointKind::VBand, 76.2);
/// assert_eq!((band.joint_mm, band.absorbs.stretch_mm), (100.2, 0.0)); // 76.2 + 2 x 12
/// ```
pub fn joint_size(kind: JointKind, outside_mm: f64) -> JointSize {
    let index = JointKind::ALL.iter().position(|one| *one == kind).unwrap_or(0);
    let row = &TABLE[index];
    let sized = |(constant, share): (f64, f64)| constant + share * outside_mm;
    JointSize {
        kind,
        outside_mm,
        length_mm: sized(row.length),
        straight_mm: sized(row.straight),
        joint_mm: outside_mm + 2.0 * sized(row.stands_out),
        screw_mm: outside_mm / 2.0 + sized(row.screw_out),
        tool_mm: row.tool_mm,
        hand_mm: row.hand_mm,
        absorbs: Absorbs {
            angle_rad: row.angle_deg.to_radians(),
            twist_rad: row.twist_deg.to_radians(),
            offset_mm: sized(row.offset),
            stretch_mm: sized(row.stretch),
        },
        source: "our own parametrisation; common practice, no source",
    }
}

impl JointSize {
    /// The joint itself, axis z, about its middle: for gaps.
    pub fn shape(&self) -> Shape {
        Shape::Cylinder(Cylinder { radius_mm: self.joint_mm / 2.0, length_mm: self.length_mm })
    }

    /// Room that a hand needs round the joint, axis z, about its middle.
    pub fn hand_room(&self) -> Shape {
        let radius_mm = self.joint_mm / 2.0 + self.hand_mm;
        Shape::Cylinder(Cylinder { radius_mm, length_mm: self.length_mm + 2.0 * self.hand_mm })
    }

    /// Room for a tool on the screw, as a cylinder and where it stands in the joint's frame: along y (a screw lies
    /// across the tube), beside the tube on the +x side; turn the joint about z to turn the screw.
    pub fn tool_room(&self) -> (Pose, Shape) {
        let radius_mm = 15.0;
        let turn = nalgebra::UnitQuaternion::from_axis_angle(
            &nalgebra::Vector3::x_axis(),
            -std::f64::consts::FRAC_PI_2,
        );
        let at = nalgebra::Translation3::new(self.screw_mm, self.tool_mm / 2.0, 0.0);
        let room = Shape::Cylinder(Cylinder { radius_mm, length_mm: self.tool_mm });
        (Pose::from_parts(at, turn), room)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_stand_where_their_kinds_do() {
        for (row, kind) in TABLE.iter().zip(JointKind::ALL) {
            assert_eq!(row.kind, kind);
            assert_eq!(joint_size(kind, 50.0).kind, kind);
        }
    }
}
