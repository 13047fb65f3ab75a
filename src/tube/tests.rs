//! Conversions: worked examples and round trips.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::f64::consts::PI;

use nalgebra::{Point3, Quaternion, Unit, UnitQuaternion, Vector3};

use super::*;
use crate::solid::{ShapeError, Solid, TubePlace};
use crate::space::{Direction, LengthUnit, Pose};

/// Seeded random numbers (splitmix64: Steele, Lea and Flood 2014, from memory).
pub(super) struct Dice(pub u64);

impl Dice {
    /// Uniform in `[low, high)`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        low + (high - low) * ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn pose(&mut self, size: f64) -> Pose {
        let q = [0; 4].map(|_| self.between(-1.0, 1.0));
        let at = [0; 3].map(|_| self.between(-size, size));
        Pose::from_parts(
            Vector3::from(at).into(),
            UnitQuaternion::from_quaternion(Quaternion::new(q[0], q[1], q[2], q[3])),
        )
    }

    /// A tube of 0 to 8 bends, of 1 to 180 deg.
    pub fn list(&mut self) -> BendList {
        let bends = (0..self.between(0.0, 9.0) as usize)
            .map(|bend| ListedBend {
                straight_mm: self.between(0.5, 400.0),
                rotation_rad: if bend == 0 { 0.0 } else { self.between(-PI, PI) },
                angle_rad: self.between(1.0f64, 180.0).to_radians(),
                radius_mm: self.between(20.0, 300.0),
            })
            .collect();
        BendList { start: self.pose(1500.0), bends, last_straight_mm: self.between(0.5, 400.0) }
    }
}

/// The greatest difference between two lists, mm or rad.
fn apart(one: &BendList, other: &BendList) -> f64 {
    if one.bends.len() != other.bends.len() {
        return f64::INFINITY;
    }
    let mut off = (one.last_straight_mm - other.last_straight_mm).abs();
    off = off.max((one.start.translation.vector - other.start.translation.vector).norm());
    // A straight tube has no plane: only its direction counts.
    let axes = if one.bends.is_empty() { &[Vector3::x()][..] } else { &[Vector3::x(), Vector3::z()][..] };
    for axis in axes {
        off = off.max((one.start * axis - other.start * axis).norm());
    }
    for (a, b) in one.bends.iter().zip(&other.bends) {
        let turned = (a.rotation_rad - b.rotation_rad + PI).rem_euclid(2.0 * PI) - PI;
        for figure in
            [a.straight_mm - b.straight_mm, turned, a.angle_rad - b.angle_rad, a.radius_mm - b.radius_mm]
        {
            off = off.max(figure.abs());
        }
    }
    off
}

#[test]
fn a_hundred_thousand_tubes_survive_every_way_of_telling_them() {
    let mut dice = Dice(20_260_501);
    let mut worst = [0.0f64; 5];
    for case in 0..100_000 {
        let list = dice.list();
        let corners = list.corners().unwrap();
        let by_corners = corners.bend_list().unwrap();
        let again = by_corners.corners().unwrap();
        let points_off = corners
            .points
            .iter()
            .zip(&again.points)
            .map(|(a, b)| (a - b).norm())
            .fold(f64::from(u32::from(corners.points.len() != again.points.len())), f64::max);
        let spoken = SpokenTube::of(&list);
        let by_words = spoken.bend_list().unwrap();
        let back = list.reversed().reversed();
        let read =
            SpokenTube::parse(&spoken.to_string(), LengthUnit::Inch, spoken.at, spoken.heading).unwrap();
        let offs = [
            apart(&list, &by_corners),
            points_off,
            apart(&list, &by_words),
            apart(&list.canonical(), &back.canonical()),
            apart(&list, &read.bend_list().unwrap()),
        ];
        for (worst, off) in worst.iter_mut().zip(offs) {
            assert!(off < 1e-9, "case {case}: {offs:?} off in {list:?}");
            *worst = worst.max(off);
        }
    }
    println!("worst differences, mm or rad: {worst:?}");
    assert!(worst.iter().all(|off| *off > 0.0), "a comparison that is always exactly zero compares nothing");
}

fn line(points: &[[f64; 3]], radius_mm: f64) -> CornerLine {
    let points: Vec<Point3<f64>> = points.iter().map(|p| Point3::from(*p)).collect();
    CornerLine { radii_mm: vec![radius_mm; points.len() - 2], points }
}

/// Source: closed forms, worked beside the project with numpy.
#[test]
fn corners_become_a_bend_list() {
    let one = line(&[[0., 0., 0.], [200., 0., 0.], [200., 150., 0.]], 76.2).bend_list().unwrap();
    assert!((one.bends[0].straight_mm - 123.8).abs() < 1e-9);
    assert!((one.last_straight_mm - 73.8).abs() < 1e-9);
    assert!((one.length_mm() - 317.294_680_1).abs() < 1e-6);
    let three =
        line(&[[0., 0., 0.], [250., 0., 0.], [350., 100., 0.], [350., 250., 120.], [500., 250., 120.]], 50.0)
            .bend_list()
            .unwrap();
    for (bend, want) in three.bends.iter().zip([
        [229.2893, 0.0, 45.0],
        [93.8532, 48.5271, 56.4848],
        [115.2363, 148.0072, 90.0],
    ]) {
        let got = [bend.straight_mm, bend.rotation_rad.to_degrees(), bend.angle_rad.to_degrees()];
        for (got, want) in got.iter().zip(want) {
            assert!((got - want).abs() < 1e-4, "{got} against {want} in {bend:?}");
        }
    }
    assert!((three.last_straight_mm - 100.0).abs() < 1e-9);
    assert!((three.length_mm() - 705.480_883_6).abs() < 1e-6);
}

/// Source: closed forms, worked beside the project with numpy.
#[test]
fn a_bend_list_becomes_corners() {
    let bend = |straight_mm, rotation: f64, angle: f64| ListedBend {
        straight_mm,
        rotation_rad: rotation.to_radians(),
        angle_rad: angle.to_radians(),
        radius_mm: 50.0,
    };
    let list = BendList {
        start: Pose::identity(),
        bends: vec![bend(100., 0., 45.), bend(80., 90., 60.), bend(120., -30., 90.)],
        last_straight_mm: 60.0,
    };
    assert!((list.length_mm() - 530.169_602_1).abs() < 1e-6);
    let corners = list.corners().unwrap();
    for (got, want) in corners.points.iter().zip([
        [0.0, 0.0, 0.0],
        [120.710_678, 0.0, 0.0],
        [212.336_296, 91.625_618, 0.0],
        [282.646_580, 161.935_902, 172.224_319],
        [185.419_397, 142.490_465, 219.855_716],
    ]) {
        assert!((got - Point3::from(want)).norm() < 1e-5, "{got} against {want:?}");
    }
}

#[test]
fn rotations_of_flat_and_crossed_bends() {
    for (case, last, want_deg) in [
        ("to the other side: an S", [350.0, 150.0, 0.0], 180.0),
        ("on round the same way: a U", [50.0, 150.0, 0.0], 0.0),
        ("up, right-handed about +y", [200.0, 150.0, 180.0], 90.0),
    ] {
        let list = line(&[[0., 0., 0.], [200., 0., 0.], [200., 150., 0.], last], 40.0).bend_list().unwrap();
        let got = list.bends[1].rotation_rad.to_degrees();
        assert!((got - want_deg).abs() < 1e-9, "{case}: {got}");
    }
}

/// Source: handbook definitions, R A and R tan(A/2); values beside the project with numpy.
#[test]
fn arcs_and_setbacks() {
    for (radius_mm, angle_deg, arc, setback) in [
        (76.2, 90.0f64, 119.694_680_1, 76.2),
        (57.15, 45.0, 44.885_505_0, 23.672_305_1),
        (100.0, 30.0, 52.359_877_6, 26.794_919_2),
        (75.0, 120.0, 157.079_632_7, 129.903_810_6),
    ] {
        let angle_rad = angle_deg.to_radians();
        let bend = ListedBend { straight_mm: 0.0, rotation_rad: 0.0, angle_rad, radius_mm };
        assert!((bend.arc_mm() - arc).abs() < 1e-6);
        assert!((bend.setback_mm() - setback).abs() < 1e-6);
    }
}

#[test]
fn the_list_and_the_solid_have_one_centreline() {
    let mut dice = Dice(7);
    for _ in 0..500 {
        let list = dice.list();
        let (ours, solid) = (list.centreline().unwrap(), list.corners().unwrap().tube(10.0, Some(1.0)));
        let theirs = solid.centreline().unwrap();
        assert!((ours.length_mm() - theirs.length_mm()).abs() < 1e-8);
        for part in 0..=20 {
            let along = ours.length_mm() * f64::from(part) / 20.0;
            assert!((ours.point_at(along) - theirs.point_at(along)).norm() < 1e-7);
        }
        let end = list.end();
        assert!((ours.point_at(ours.length_mm()).coords - end.translation.vector).norm() < 1e-9);
        let area = PI * (100.0 - 81.0);
        assert!((solid.volume_mm3() - area * list.length_mm()).abs() < 1e-5);
    }
}

#[test]
fn what_a_shop_says() {
    let said = |text: &str| {
        SpokenTube::parse(text, LengthUnit::Inch, Point3::origin(), Direction::Rearward.unit())
            .and_then(|tube| tube.bend_list())
    };
    // 10 in to the corner, then 8 in from corner to end: straights 10 - 4.5 and 8 - 4.5.
    let legs = said("10 in leg, 90 at 4.5 in CLR, turn right, 8 leg").unwrap();
    assert!((legs.bends[0].straight_mm - 5.5 * 25.4).abs() < 1e-9);
    assert!((legs.last_straight_mm - 3.5 * 25.4).abs() < 1e-9);
    assert!((legs.end().translation.vector - Vector3::new(254.0, 203.2, 0.0)).norm() < 1e-9);
    // A bend without a turn goes on in the same plane; two right angles come back.
    let u = said("2 straight; 90 deg bend at 3 in; turn up; 90 at 3 in CLR; 2 in straight").unwrap();
    assert!((u.end() * Vector3::x() - Vector3::new(-1.0, 0.0, 0.0)).norm() < 1e-12);
    let rolled = said("2 straight, 90 at 3 CLR, turn up, 2 straight, 45 at 3 CLR, roll 90 deg").unwrap();
    assert!((rolled.bends[1].rotation_rad - PI / 2.0).abs() < 1e-12);
    let messages: Vec<String> = [
        "6 in straight, 90 at 4.5 in CLR, 3 in straight",
        "6 in straight, 90 at 4.5 in CLR, turn rearward",
        "2 in leg, 90 at 4.5 in CLR, turn up",
        "6 in bent",
        "turn up",
        "ninety at 4 in CLR",
        "0 at 4 in CLR, turn up",
    ]
    .iter()
    .map(|text| format!("{text}\n    {}", said(text).unwrap_err()))
    .collect();
    insta::assert_snapshot!(messages.join("\n"));
}

#[test]
fn what_cannot_be_is_told_with_place_and_remedy() {
    let corners = line(&[[0., 0., 0.], [200., 0., 0.], [200., 150., 0.], [200., 150., 180.]], 76.2);
    let short = corners.bend_list().unwrap_err();
    let TubeError::Corners(ShapeError::LegTooShort { largest_radius_mm, .. }) = short else {
        panic!("{short}")
    };
    // What it names can be made.
    let mut mended = corners;
    mended.radii_mm = vec![largest_radius_mm - 1e-9; 2];
    mended.bend_list().unwrap();

    let bend = ListedBend { straight_mm: 50.0, rotation_rad: 0.0, angle_rad: PI / 2.0, radius_mm: 40.0 };
    let list = |bends| BendList { start: Pose::identity(), bends, last_straight_mm: 50.0 };
    let loops = list(vec![ListedBend { straight_mm: 200.0, ..bend }; 4]);
    let cases: Vec<(&str, TubeError)> = vec![
        ("a leg too short", short.clone()),
        ("no angle", list(vec![bend, ListedBend { angle_rad: 0.0, ..bend }]).check().unwrap_err()),
        ("backward", list(vec![ListedBend { angle_rad: -1.0, ..bend }]).check().unwrap_err()),
        ("over half a turn", list(vec![ListedBend { angle_rad: 3.5, ..bend }]).check().unwrap_err()),
        ("negative straight", list(vec![ListedBend { straight_mm: -3.0, ..bend }]).check().unwrap_err()),
        ("not a number", list(vec![ListedBend { radius_mm: f64::NAN, ..bend }]).check().unwrap_err()),
        ("radius under half", list(vec![bend]).check_body(88.9).unwrap_err()),
        ("four turns round", loops.check_body(60.0).unwrap_err()),
        (
            "a port that faces away",
            list(vec![bend]).check_ends(None, Some(&-Vector3::y_axis()), 0.02).unwrap_err(),
        ),
        (
            "a port a little off",
            list(vec![bend])
                .check_ends(Some(&Unit::new_normalize(Vector3::new(1.0, 0.1, 0.0))), None, 0.02)
                .unwrap_err(),
        ),
    ];
    let told: Vec<String> = cases.iter().map(|(case, error)| format!("{case}: {error}")).collect();
    insta::assert_snapshot!(told.join("\n"));
    // And what can be is let through.
    list(vec![bend]).check_body(80.0).unwrap();
    list(vec![bend, bend]).check_body(79.0).unwrap();
    let u_turn = ListedBend { angle_rad: PI, radius_mm: 31.75, ..bend };
    list(vec![u_turn]).check_body(63.5).unwrap();
    // Round twice in one plane: it comes back over its own start.
    let back = ListedBend { straight_mm: 100.0, ..u_turn };
    assert!(matches!(list(vec![u_turn, back]).check_body(63.0), Ok(())));
    let mut over = list(vec![u_turn, back]);
    over.last_straight_mm = 100.0;
    assert!(matches!(over.check_body(63.0), Err(TubeError::SelfCrossing { .. })));
    list(vec![bend]).check_ends(Some(&Vector3::x_axis()), Some(&Vector3::y_axis()), 0.0).unwrap();
    assert_eq!(TubePlace::Bend(2).to_string(), "bend 2");
}

/// Two ways to the same answer: the nearest two centreline points, sampled, against the solid check.
#[test]
fn self_crossing_agrees_with_sampling() {
    let mut dice = Dice(11);
    let (mut crossed, mut clear) = (0, 0);
    for _ in 0..1500 {
        let list = dice.list();
        let outside = 2.0 * list.bends.iter().map(|bend| bend.radius_mm).fold(30.0, f64::min) * 0.9;
        let legs = list.legs().unwrap();
        let (mut least, mut beside) = (f64::INFINITY, f64::INFINITY);
        for (i, (_, one)) in legs.iter().enumerate() {
            for (_, other) in legs.iter().skip(i + 2) {
                for a in 0..=60 {
                    let p = one.point_at(one.length_mm() * f64::from(a) / 60.0);
                    let along = nearest::nearest_along_mm(other, &p);
                    let apart = (p - other.point_at(along)).norm();
                    least = least.min(apart);
                    if along > 0.0 && along < other.length_mm() {
                        beside = beside.min(apart);
                    }
                }
            }
        }
        match list.check_body(outside) {
            Ok(()) => {
                clear += 1;
                // A point of one centreline beside the other and within its radius lies in both.
                assert!(beside > outside / 2.0 - 1e-9, "told clear, but {beside} beside; {outside}");
            }
            Err(TubeError::SelfCrossing { .. }) => {
                crossed += 1;
                assert!(least < outside + 1.0, "told to cross, but centrelines are {least} apart");
            }
            Err(other) => panic!("{other}"),
        }
    }
    assert!(crossed > 30 && clear > 50, "{crossed} crossed, {clear} clear");
}
