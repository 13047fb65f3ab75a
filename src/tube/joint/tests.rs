//! Joints asked for movements of known size.
#![allow(clippy::unwrap_used)]

use nalgebra::{Point3, Vector3};
use proptest::prelude::*;

use super::*;
use crate::space::{Angle, Axis, Pose, pose_of_turn};

/// Source: closed form; a point 300 mm from the axis of a 3 deg turn moves 2 sin(1.5 deg) 300.
#[test]
fn what_a_turn_asks_of_a_joint() {
    let axis = Axis { through: Point3::origin(), along: Vector3::y_axis() };
    let moved = pose_of_turn(&axis, Angle::from_deg(3.0));
    // A joint above the axis whose tube runs along x: the turn moves it along and tilts it.
    let asked = demand(&Point3::new(0.0, 0.0, 300.0), &Vector3::x_axis(), &moved);
    assert!((asked.angle_rad.to_degrees() - 3.0).abs() < 1e-9);
    assert!((asked.stretch_mm + 300.0 * 3f64.to_radians().sin()).abs() < 1e-9);
    assert!((asked.offset_mm - 300.0 * (1.0 - 3f64.to_radians().cos())).abs() < 1e-9);
    assert!(asked.twist_rad.abs() < 1e-12);
    // One whose tube runs along the axis itself is only twisted.
    let twisted = demand(&Point3::new(0.0, 50.0, 0.0), &Vector3::y_axis(), &moved);
    assert!((twisted.twist_rad.to_degrees() - 3.0).abs() < 1e-9);
    assert!(twisted.offset_mm < 1e-12 && twisted.angle_rad < 1e-9);
}

#[test]
fn what_is_short_is_told_with_what_would_do() {
    let asked = Demand { angle_rad: 0.06, offset_mm: 2.0, stretch_mm: -3.5, twist_rad: 0.0 };
    let told: Vec<String> = JointKind::ALL
        .iter()
        .map(|kind| {
            let size = joint_size(*kind, 63.5);
            size.shortfall(&asked).map_or(format!("{}: takes it", kind.word()), |short| short.to_string())
        })
        .collect();
    let far = Demand { stretch_mm: 90.0, ..asked };
    let none = joint_size(JointKind::Bellows, 63.5).shortfall(&far).unwrap().to_string();
    insta::assert_snapshot!(format!("{}\n{none}", told.join("\n")));
}

#[test]
fn growth_adds_to_what_a_joint_must_take() {
    let asked = Demand { angle_rad: 0.0, offset_mm: 1.0, stretch_mm: -2.0, twist_rad: 0.0 };
    let both = asked.with_shift(&Vector3::new(3.0, 4.0, 0.0), &Vector3::x_axis());
    assert_eq!((both.stretch_mm.abs(), both.offset_mm), (5.0, 5.0));
}

#[test]
fn joints_are_solids_with_room_round_them() {
    for kind in JointKind::ALL {
        assert_eq!(JointKind::from_word(kind.word()), Some(kind));
        for outside in [12.7, 38.1, 63.5, 101.6] {
            let size = joint_size(kind, outside);
            size.shape().validate().unwrap();
            assert!(size.joint_mm > outside && size.screw_mm >= size.joint_mm / 2.0 - 1e-9);
            assert!(size.hand_room().volume_mm3() > size.shape().volume_mm3());
            let (_, tool) = size.tool_room();
            tool.validate().unwrap();
            assert!(size.source.contains("no source"));
        }
    }
}

proptest! {
    /// A bigger movement never suits a joint that the smaller one did not.
    #[test]
    fn more_movement_never_suits_better(angle in 0.0f64..0.2, offset in 0.0f64..10.0, stretch in -20.0f64..20.0, more in 1.0f64..3.0) {
        let small = Demand { angle_rad: angle, offset_mm: offset, stretch_mm: stretch, twist_rad: 0.0 };
        let big = Demand { angle_rad: angle * more, offset_mm: offset * more, stretch_mm: stretch * more, twist_rad: 0.0 };
        for kind in JointKind::ALL {
            let size = joint_size(kind, 63.5);
            prop_assert!(!size.takes(&big) || size.takes(&small));
        }
        prop_assert_eq!(small.worst(&big), big);
    }

    /// No movement asks nothing; a pure shift asks for its parts.
    #[test]
    fn a_shift_asks_for_its_parts(x in -9.0f64..9.0, y in -9.0f64..9.0, z in -9.0f64..9.0) {
        let asked = demand(&Point3::new(5.0, 6.0, 7.0), &Vector3::z_axis(), &Pose::translation(x, y, z));
        prop_assert!((asked.stretch_mm + z).abs() < 1e-9 && (asked.offset_mm - x.hypot(y)).abs() < 1e-9);
        prop_assert!(asked.angle_rad < 1e-9);
    }
}
