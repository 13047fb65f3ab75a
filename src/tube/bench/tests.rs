//! Worked lists.
#![allow(clippy::unwrap_used)]

use nalgebra::Vector3;

use super::*;
use crate::solid::Solid;
use crate::space::Pose;
use crate::tube::tests::Dice;
use crate::tube::{BendList, Bender, ListedBend, Springback};

fn options() -> BenchOptions<'static> {
    BenchOptions {
        outside_mm: 50.8,
        wall_mm: Some(1.65),
        density_kg_m3: Some(7850.0),
        material: None,
        bender: None,
        start_extra_mm: 0.0,
        end_extra_mm: 0.0,
    }
}

fn right_angle() -> BendList {
    let angle_rad = 90f64.to_radians();
    let bend = ListedBend { straight_mm: 123.8, rotation_rad: 0.7, angle_rad, radius_mm: 76.2 };
    BendList { start: Pose::identity(), bends: vec![bend], last_straight_mm: 73.8 }
}

fn bender() -> Bender {
    Bender {
        name: "bench".to_owned(),
        dies: vec![],
        least_radius_od: 1.0,
        tight_radius_od: 1.5,
        clamp_od: 1.5,
        first_od: 2.0,
        last_od: 1.0,
        most_wall_mm: 3.0,
        most_angle_rad: 3.2,
        most_thinning: 0.4,
        springback: vec![Springback { material: None, share: 0.02, add_rad: 0.0 }],
        stretch: 0.05,
        source: "invented".to_owned(),
    }
}

/// Source: closed forms beside the project: 123.8 + 76.2 pi / 2 + 73.8; section 254.7753 mm^2, 2.0000 kg/m.
#[test]
fn cut_length_marks_and_weight() {
    let plain = bench_sheet(&right_angle(), &options()).unwrap();
    assert!((plain.cut_mm - 317.294_680_1).abs() < 1e-6);
    assert_eq!(plain.cut_mm, plain.cut_unstretched_mm);
    assert!((plain.weight_kg.unwrap() / (plain.centreline_mm / 1000.0) - 2.0000).abs() < 1e-4);
    assert!((plain.metal_mm3 / plain.centreline_mm - 254.7753).abs() < 1e-4);
    let row = plain.rows[0];
    assert_eq!((row.rotation_rad, row.bend_to_rad), (0.0, row.angle_rad));
    assert!((row.mark_from_mm - 123.8).abs() < 1e-9 && (row.mark_to_mm - 243.494_680_1).abs() < 1e-6);
    assert!((row.outer_wall_mm.unwrap() - 1.2375).abs() < 1e-9);

    let bender = bender();
    let drawn = BenchOptions { bender: Some(&bender), start_extra_mm: 10.0, end_extra_mm: 25.0, ..options() };
    let drawn = bench_sheet(&right_angle(), &drawn).unwrap();
    assert!((drawn.cut_mm - (317.294_680_1 - 0.05 * 119.694_680_1 + 35.0)).abs() < 1e-6);
    assert!((drawn.cut_unstretched_mm - 352.294_680_1).abs() < 1e-6);
    assert!((drawn.rows[0].bend_to_rad.to_degrees() - 91.8).abs() < 1e-9);
    assert!((drawn.rows[0].straight_mm - 133.8).abs() < 1e-9);
    assert!((drawn.last_straight_mm - 98.8).abs() < 1e-9);
    // What is left on is cut off again: the finished tube is the same.
    assert_eq!((drawn.weight_kg, drawn.inside_mm3), (plain.weight_kg, plain.inside_mm3));
}

#[test]
fn weights_are_the_solid_s() {
    let mut dice = Dice(23);
    for _ in 0..300 {
        let list = dice.list();
        let options = BenchOptions { outside_mm: 16.0, ..options() };
        let Ok(sheet) = bench_sheet(&list, &options) else { continue };
        let tube = list.corners().unwrap().tube(8.0, Some(1.65));
        assert!((sheet.metal_mm3 - tube.volume_mm3()).abs() < 1e-6 * sheet.metal_mm3);
        let bar = list.corners().unwrap().tube(8.0 - 1.65, None);
        assert!((sheet.inside_mm3 - bar.volume_mm3()).abs() < 1e-6 * sheet.inside_mm3);
        let straights: f64 = sheet.rows.iter().map(|row| row.straight_mm + row.arc_mm).sum();
        assert!((straights + sheet.last_straight_mm - sheet.cut_mm).abs() < 1e-9);
    }
}

#[test]
fn a_jig_holds_straights_from_below() {
    let list = right_angle();
    let points = jig_points(&list, 50.8, &Vector3::z_axis()).unwrap();
    assert_eq!(points.len(), 2, "two short straights, one hold each: {points:?}");
    let solid = list.corners().unwrap().tube(25.4, None);
    for point in &points {
        assert!(solid.closest(&point.touch).distance_mm.abs() < 1e-9);
        let along = list.centreline().unwrap().point_at(point.along_mm);
        assert!((along - point.center).norm() < 1e-9);
        assert!(point.touch.z <= point.center.z);
        assert!((point.center + point.normal.into_inner() * 25.4 - point.touch).norm() < 1e-9);
    }
    let mut long = list;
    long.bends[0].straight_mm = 400.0;
    // By both ends and in the middle of the long one: 0.75 diameters are 38.1.
    let held = jig_points(&long, 50.8, &Vector3::z_axis()).unwrap();
    let along: Vec<f64> = held[..3].iter().map(|point| (point.along_mm * 10.0).round() / 10.0).collect();
    assert_eq!((held.len(), along), (4, vec![38.1, 200.0, 361.9]));
    // An upright tube has no underside.
    let upright = jig_points(&long, 50.8, &Vector3::x_axis()).unwrap();
    assert!((upright[0].touch - upright[0].center).dot(&Vector3::x()).abs() < 1e-9);
}

/// The same tube wherever it stands: the jig's places in its own frame stay, with `up` turned along.
#[test]
fn a_jig_on_the_bench_does_not_know_where_the_tube_stands() {
    let list = right_angle();
    let turn = nalgebra::UnitQuaternion::from_euler_angles(0.4, -0.7, 1.9);
    let moved = list.moved(&(crate::space::Pose::translation(40.0, -7.0, 300.0) * turn));
    let up = Vector3::z_axis();
    let (here, there) =
        (jig_points(&list, 50.8, &up).unwrap(), jig_points(&moved, 50.8, &(turn * up)).unwrap());
    for (one, other) in here.iter().zip(&there) {
        assert!((one.touch_in_tube - other.touch_in_tube).norm() < 1e-9, "{one:?} {other:?}");
        assert!((one.normal_in_tube.into_inner() - other.normal_in_tube.into_inner()).norm() < 1e-9);
        assert!((moved.start * other.touch_in_tube - other.touch).norm() < 1e-9);
    }
}
