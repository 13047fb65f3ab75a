//! Volumes, areas, centres, lengths and distances of shapes against closed forms and published values.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use baywright::solid::*;
use baywright::space::Pose;
use nalgebra::{Point2, Point3, Vector3};

fn p(x: f64, y: f64, z: f64) -> Point3<f64> {
    Point3::new(x, y, z)
}

fn close(case: &str, got: f64, want: f64, within: f64) {
    assert!((got - want).abs() <= within, "{case}: got {got}, want {want}");
}

fn tube(corners: &[[f64; 3]], radii: &[f64], radius_mm: f64, wall_mm: Option<f64>) -> Tube {
    let corners = corners.iter().map(|&at| Point3::from(at)).collect();
    Tube { corners, bend_radii_mm: radii.to_vec(), radius_mm, wall_mm }
}

fn square(half: f64) -> Vec<Point2<f64>> {
    [[-half, -half], [half, -half], [half, half], [-half, half]].map(Point2::from).to_vec()
}

/// An L of 40 x 30 with legs of 10, as a shop would cut it: area 40 10 + 10 20 = 600.
fn bracket() -> Plate {
    let outline =
        [[0.0, 0.0], [40.0, 0.0], [40.0, 10.0], [10.0, 10.0], [10.0, 30.0], [0.0, 30.0]].map(Point2::from);
    Plate { outline: outline.to_vec(), holes: vec![], thickness_mm: 5.0 }
}

#[test]
fn volumes() {
    let litre = 1e6;
    for (case, shape, want_mm3, within) in [
        ("ball of 10: 4/3 pi 10^3", Shape::Ball(Ball { radius_mm: 10.0 }), 4188.790204786391, 1e-9),
        (
            "horizontal cylinder R 50, L 300, full (tank table)",
            Shape::Cylinder(Cylinder { radius_mm: 50.0, length_mm: 300.0 }),
            2.3561945 * litre,
            0.05,
        ),
        (
            "round frustum 60, 40, height 100 (tank table)",
            Shape::Frustum(Frustum { bottom_radius_mm: 60.0, top_radius_mm: 40.0, length_mm: 100.0 }),
            0.7958701 * litre,
            0.05,
        ),
        (
            "cone: a third of its cylinder",
            Shape::Frustum(Frustum { bottom_radius_mm: 0.0, top_radius_mm: 3.0, length_mm: 10.0 }),
            30.0 * PI,
            1e-9,
        ),
        (
            "capsule: pi 4 (7 + 8/3)",
            Shape::Capsule(Capsule { radius_mm: 2.0, core_mm: 7.0 }),
            PI * 4.0 * (7.0 + 8.0 / 3.0),
            1e-9,
        ),
        (
            "ring, Pappus: pi 5^2 2 pi 20",
            Shape::TorusArc(TorusArc { ring_radius_mm: 20.0, tube_radius_mm: 5.0, sweep_rad: TAU }),
            PI * 25.0 * TAU * 20.0,
            1e-9,
        ),
        ("L bracket by shoelace: 600 times 5", Shape::Plate(bracket()), 3000.0, 1e-9),
        (
            "tube of one metre, OD 50.8, wall 1.65: 254.7753 mm2 (tube table)",
            Shape::Tube(tube(&[[0.0; 3], [1000.0, 0.0, 0.0]], &[], 25.4, Some(1.65))),
            254_775.3,
            0.05,
        ),
        ("solid bar", Shape::Tube(tube(&[[0.0; 3], [100.0, 0.0, 0.0]], &[], 2.0, None)), 400.0 * PI, 1e-9),
        (
            "cloud: three balls",
            Shape::Cloud(Cloud::new(vec![p(0.0, 0.0, 0.0), p(9.0, 0.0, 0.0), p(9.0, 9.0, 0.0)], 1.0)),
            4.0 * PI,
            1e-9,
        ),
    ] {
        shape.validate().unwrap();
        close(case, shape.volume_mm3(), want_mm3, within);
    }
}

#[test]
fn centres_of_mass() {
    let quarter = TorusArc { ring_radius_mm: 76.2, tube_radius_mm: 25.4, sweep_rad: FRAC_PI_2 };
    // A quarter ring: (R + r^2/4R) sin(45 deg)/(pi/4), in the direction of 45 degrees.
    let radial = (76.2 + 25.4 * 25.4 / (4.0 * 76.2)) * (PI / 4.0).sin() / (PI / 4.0);
    let on_diagonal = radial * (PI / 4.0).cos();
    let cone = Frustum { bottom_radius_mm: 9.0, top_radius_mm: 0.0, length_mm: 40.0 };
    let half = |part: f64| Shape::Block(Block { size_mm: Vector3::new(part, 10.0, 10.0) });
    let compound = Compound {
        parts: vec![
            (Pose::translation(0.0, 0.0, 0.0), half(30.0)),
            (Pose::translation(20.0, 0.0, 0.0), half(10.0)),
        ],
    };
    for (case, got, want) in [
        ("quarter bend", quarter.center_of_mass(), p(on_diagonal, on_diagonal, 0.0)),
        ("cone: a quarter of its height above the base", cone.center_of_mass(), p(0.0, 0.0, -10.0)),
        (
            "L bracket: (400 20 + 200 5)/600, (400 5 + 200 20)/600",
            bracket().center_of_mass(),
            p(15.0, 10.0, 2.5),
        ),
        ("two blocks, 3 to 1: 20/4", compound.center_of_mass(), p(5.0, 0.0, 0.0)),
        (
            "hull",
            Hull::new(Block { size_mm: Vector3::new(2.0, 4.0, 6.0) }.tessellate(1.0).vertices)
                .center_of_mass(),
            p(0.0, 0.0, 0.0),
        ),
    ] {
        assert!((got - want).norm() < 1e-9, "{case}: got {got}, want {want}");
    }
}

#[test]
fn areas() {
    let ring = TorusArc { ring_radius_mm: 20.0, tube_radius_mm: 5.0, sweep_rad: TAU };
    close("ring, Pappus: 2 pi 5 2 pi 20", ring.area_mm2(), 4.0 * PI * PI * 100.0, 1e-9);
    close("bracket: 2 600 + 140 5", bracket().area_mm2(), 1900.0, 1e-9);
    let cone = Frustum { bottom_radius_mm: 3.0, top_radius_mm: 0.0, length_mm: 4.0 };
    close("cone 3-4-5: 9 pi + 15 pi", cone.area_mm2(), 24.0 * PI, 1e-12);
    close("block", Block { size_mm: Vector3::new(2.0, 3.0, 4.0) }.area_mm2(), 52.0, 1e-12);
}

/// Source: closed forms, tabled with the project's published check values (point to box, ring, bend).
#[test]
fn distances() {
    let block = Shape::Block(Block { size_mm: Vector3::new(100.0, 60.0, 40.0) });
    let ring = Shape::TorusArc(TorusArc { ring_radius_mm: 60.0, tube_radius_mm: 20.0, sweep_rad: TAU });
    let bend = Shape::TorusArc(TorusArc { ring_radius_mm: 76.2, tube_radius_mm: 10.0, sweep_rad: FRAC_PI_2 });
    let bar = Shape::Cylinder(Cylinder { radius_mm: 25.0, length_mm: 100.0 });
    let cone = Shape::Frustum(Frustum { bottom_radius_mm: 30.0, top_radius_mm: 0.0, length_mm: 40.0 });
    let mut plate = bracket();
    plate.holes = vec![square(2.0).iter().map(|at| Point2::new(at.x + 30.0, at.y + 5.0)).collect()];
    let plate = Shape::Plate(plate);
    let capsule = Shape::Capsule(Capsule { radius_mm: 10.0, core_mm: 100.0 });
    for (case, shape, at, want_mm) in [
        ("box: (20, 15, 0) beyond", &block, [70.0, 45.0, 10.0], 25.0),
        ("box, inside, 5 behind y", &block, [10.0, 25.0, 0.0], -5.0),
        ("ring", &ring, [100.0, 50.0, 30.0], 39.8631116),
        ("ring, from the middle of its hole, off centre", &ring, [10.0, 0.0, 0.0], 30.0),
        ("ring, inside", &ring, [60.0, 0.0, 5.0], -15.0),
        ("ring, on its axis: 60 - 20", &ring, [0.0, 0.0, 0.0], 40.0),
        ("bend, in its sector: 68.2189512 to the centreline", &bend, [100.0, 100.0, 20.0], 58.2189512),
        ("bend, beyond its end: hypot(23.8 - 10, 30)", &bend, [100.0, -30.0, 0.0], 33.0218109),
        ("bend, straight before its end", &bend, [70.0, -30.0, 4.0], 30.0),
        (
            "bend, inside, 3 behind its end",
            &bend,
            [76.2 * (3.0_f64 / 76.2).cos(), 76.2 * (3.0_f64 / 76.2).sin(), 0.0],
            -76.2 * (3.0_f64 / 76.2).sin(),
        ),
        ("bar, beside its rim: hypot(15, 20)", &bar, [40.0, 0.0, 70.0], 25.0),
        ("bar, on its axis", &bar, [0.0, 0.0, 10.0], -25.0),
        ("bar, near an end", &bar, [10.0, 0.0, 45.0], -5.0),
        (
            "cone 3-4-5, from its axis at the base: 30 4/5 = 24, but the base is nearer",
            &cone,
            [0.0, 0.0, -15.0],
            -5.0,
        ),
        ("cone, its tip", &cone, [0.0, 0.0, 27.0], 7.0),
        ("cone, beside its slant, 10 along the normal from the middle", &cone, [23.0, 0.0, 6.0], 10.0),
        ("plate, in the notch of the L, 3-4-5 from the corner to the arm", &plate, [14.0, 13.0, 2.0], 3.0),
        ("plate, above", &plate, [5.0, 5.0, 12.0], 7.0),
        ("plate, in the middle of the hole", &plate, [30.0, 5.0, 2.5], 2.0),
        ("plate, over the hole: hypot(2, 3)", &plate, [30.0, 5.0, 8.0], 13_f64.sqrt()),
        ("plate, inside, 1.5 under the top", &plate, [5.0, 5.0, 3.5], -1.5),
        ("capsule, past its end, 3-4-5: 50 - 10", &capsule, [30.0, 0.0, 90.0], 40.0),
        ("capsule, on its core", &capsule, [0.0, 0.0, 20.0], -10.0),
    ] {
        let got = shape.closest(&Point3::from(at));
        close(case, got.distance_mm, want_mm, 1e-6);
        close(case, (got.point - Point3::from(at)).norm(), want_mm.abs(), 1e-6);
    }
}

#[test]
fn ties_go_as_stated() {
    let x = |shape: &dyn Solid| shape.closest(&Point3::origin()).normal.into_inner();
    assert_eq!(x(&Ball { radius_mm: 5.0 }), Vector3::x(), "ball, from its centre");
    assert_eq!(x(&Block { size_mm: Vector3::repeat(2.0) }), Vector3::x(), "cube, from its centre");
    assert_eq!(x(&Cylinder { radius_mm: 5.0, length_mm: 40.0 }), Vector3::x(), "bar, from its axis");
    assert_eq!(
        x(&Cylinder { radius_mm: 5.0, length_mm: 10.0 }),
        Vector3::z(),
        "bar as long as wide: the top"
    );
    assert_eq!(x(&Capsule { radius_mm: 5.0, core_mm: 40.0 }), Vector3::x(), "capsule, from its core");
    let ring = TorusArc { ring_radius_mm: 20.0, tube_radius_mm: 5.0, sweep_rad: TAU };
    assert_eq!(
        ring.closest(&p(0.0, 20.0, 0.0)).normal.into_inner().map(f64::round),
        Vector3::y(),
        "away from the axis"
    );
}

/// Source: arc R A, setback R tan(A/2); the tables of bend arithmetic in any bending handbook, recomputed.
#[test]
fn bends_of_a_tube() {
    for (case, radius, angle_deg, arc, setback) in [
        ("76.2 mm, 90 deg", 76.2, 90.0_f64, 119.6946801, 76.2),
        ("57.15 mm, 45 deg", 57.15, 45.0, 44.8855050, 23.6723051),
        ("100 mm, 30 deg", 100.0, 30.0, 52.3598776, 26.7949192),
        ("75 mm, 120 deg", 75.0, 120.0, 157.0796327, 129.9038106),
    ] {
        let turn = angle_deg.to_radians();
        let end = [300.0 + 300.0 * turn.cos(), 300.0 * turn.sin(), 0.0];
        let line = tube(&[[0.0; 3], [300.0, 0.0, 0.0], end], &[radius], 20.0, None).centreline().unwrap();
        let lengths: Vec<f64> = line.legs.iter().map(Leg::length_mm).collect();
        close(case, lengths[0], 300.0 - setback, 1e-6);
        close(case, lengths[1], arc, 1e-6);
        close(case, lengths[2], 300.0 - setback, 1e-6);
    }
}

#[test]
fn developed_lengths() {
    for (case, corners, radii, want_mm) in [
        ("one right angle", vec![[0.0; 3], [200.0, 0.0, 0.0], [200.0, 150.0, 0.0]], vec![76.2], 317.2946801),
        (
            "three bends in space",
            vec![
                [0.0; 3],
                [250.0, 0.0, 0.0],
                [350.0, 100.0, 0.0],
                [350.0, 250.0, 120.0],
                [500.0, 250.0, 120.0],
            ],
            vec![50.0; 3],
            705.4808836,
        ),
        (
            "from a bend list: 360 of straights and 195 deg of 50",
            vec![
                [0.0; 3],
                [120.710678, 0.0, 0.0],
                [212.336296, 91.625618, 0.0],
                [282.646580, 161.935902, 172.224319],
                [185.419397, 142.490465, 219.855716],
            ],
            vec![50.0; 3],
            530.1696021,
        ),
        (
            "corners that do not turn are no bends",
            vec![[0.0; 3], [50.0, 0.0, 0.0], [190.0, 0.0, 0.0], [200.0, 0.0, 0.0], [200.0, 150.0, 0.0]],
            vec![1.0, 1.0, 76.2],
            317.2946801,
        ),
    ] {
        let line = tube(&corners, &radii, 20.0, None).centreline().unwrap();
        close(case, line.length_mm(), want_mm, 2e-6);
        assert!((line.point_at(0.0) - Point3::from(corners[0])).norm() < 1e-9, "{case}: its start");
        let end = Point3::from(corners[corners.len() - 1]);
        assert!((line.point_at(line.length_mm()) - end).norm() < 1e-6, "{case}: its end");
        // One way along the line is one way in space, but for the little that a bend cuts off.
        for step in 0..1000 {
            let s = line.length_mm() * f64::from(step) / 1000.0;
            let (here, there) = (line.point_at(s), line.point_at(s + 0.01));
            close(case, (there - here).norm(), 0.01, 1e-6);
            close(case, (there - here).normalize().dot(&line.tangent_at(s)), 1.0, 1e-6);
        }
    }
    let u_bend = tube(
        &[[0.0; 3], [100.0, 0.0, 0.0], [100.0, 100.0, 0.0], [0.0, 100.0, 0.0]],
        &[50.0, 50.0],
        20.0,
        None,
    );
    assert_eq!(
        u_bend.centreline().unwrap().legs.len(),
        4,
        "the straight of no length between the bends vanishes"
    );
}

#[test]
fn a_tube_is_solid_right_through_its_joints() {
    let pipe = tube(&[[0.0; 3], [200.0, 0.0, 0.0], [200.0, 150.0, 0.0]], &[76.2], 25.4, Some(1.65));
    let line = pipe.centreline().unwrap();
    for step in 300..2800 {
        let s = line.length_mm() * f64::from(step) / 3100.0;
        close(
            "on the centreline, far from the ends",
            pipe.closest(&line.point_at(s)).distance_mm,
            -25.4,
            1e-9,
        );
    }
    // At the joints exactly, and a little beside them.
    for x in [123.8, 123.8 - 1e-12, 123.8 + 1e-12, 123.8 + 1e-10, 123.8 - 1e-10] {
        close("at a joint", pipe.closest(&p(x, 0.0, 0.0)).distance_mm, -25.4, 1e-7);
    }
    close("near the first end", pipe.closest(&p(4.0, 3.0, 0.0)).distance_mm, -4.0, 1e-12);
    close(
        "before the first end: hypot(30, 4.6)",
        pipe.closest(&p(-30.0, 30.0, 0.0)).distance_mm,
        30.0_f64.hypot(4.6),
        1e-12,
    );
    assert_eq!(pipe.pieces().len(), 3);
}

#[test]
fn plates_come_apart_into_few_prisms_that_cover_them() {
    let hole = |x: f64, y: f64, r: f64| Plate::round_hole(Point2::new(x, y), r, 0.1);
    // A flange: 120 x 80, a bore of 25 and four holes of 5, with points on its straight edges too.
    let mut outline = vec![
        [0.0, 0.0],
        [30.0, 0.0],
        [60.0, 0.0],
        [120.0, 0.0],
        [120.0, 80.0],
        [60.0, 80.0],
        [0.0, 80.0],
        [0.0, 40.0],
    ];
    let holes = vec![
        hole(60.0, 40.0, 25.0),
        hole(10.0, 10.0, 5.0),
        hole(110.0, 10.0, 5.0),
        hole(110.0, 70.0, 5.0),
        hole(10.0, 70.0, 5.0),
    ];
    let comb: Vec<[f64; 2]> = (0..20)
        .flat_map(|i| {
            let x = f64::from(i) * 4.0;
            [[x, 10.0], [x + 2.0, 10.0], [x + 2.0, 50.0], [x + 4.0, 50.0]]
        })
        .chain([[80.0, 0.0], [0.0, 0.0]])
        .rev()
        .collect();
    let plain = |outline: &[[f64; 2]], holes: Vec<Vec<Point2<f64>>>| Plate {
        outline: outline.iter().map(|&at| at.into()).collect(),
        holes,
        thickness_mm: 6.0,
    };
    let flange = plain(&outline, holes.clone());
    outline.reverse();
    for (case, plate, at_most) in [
        ("L: two boxes", bracket(), 2),
        ("square: itself", plain(&[[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]], vec![]), 1),
        // Its holes have 99 corners; each needs a cut, and a cut serves two at most: 50 parts at least.
        ("flange", flange, 100),
        ("flange, run through the other way", plain(&outline, holes), 100),
        ("comb of twenty teeth", plain(&comb, vec![]), 45),
    ] {
        plate.validate().unwrap();
        let parts: Vec<Hull> = plate
            .pieces()
            .into_iter()
            .map(|piece| match piece {
                Piece::Hull { points } => Hull::new(points),
                other => panic!("{case}: a piece is {other:?}"),
            })
            .collect();
        assert!(parts.len() <= at_most, "{case}: {} parts", parts.len());
        let sum: f64 = parts.iter().map(Solid::volume_mm3).sum();
        close(case, sum, plate.volume_mm3(), 1e-6);
        // No overlap can hide a gap: each part's own middle and corners lie within the plate.
        for part in &parts {
            part.validate().unwrap();
            assert!(plate.closest(&part.center_of_mass()).distance_mm < 0.0, "{case}: a part lies outside");
            for corner in part.corners() {
                assert!(plate.closest(corner).distance_mm < 1e-7, "{case}: a corner lies outside");
            }
        }
        let mesh = plate.tessellate(1.0);
        mesh.validate().unwrap();
        close(case, mesh.volume_mm3(), plate.volume_mm3(), 1e-6);
        close(case, mesh.area_mm2(), plate.area_mm2(), 1e-6);
    }
}
