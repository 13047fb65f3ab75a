//! Gaps against values that come from outside: closed forms and an independent library's answers.
//!
//! Source of every figure: closed form, recomputed; those said to be from another library were
//! computed with coal 3.0.3 (a C++ collision library, from PyPI).
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, TAU};

use baywright::clearance::{GapUnder, IndexedShape, closest, gap, gap_under, touches};
use baywright::solid::Piece;
use baywright::space::{Length, Pose};
use nalgebra::{Isometry3, Point3, Translation3, UnitQuaternion, Vector3};

fn one(piece: Piece) -> IndexedShape {
    IndexedShape::of_pieces(&[piece])
}

fn ball(at: [f64; 3], radius_mm: f64) -> Piece {
    Piece::Ball { center: at.into(), radius_mm }
}

fn block(size: [f64; 3], at: [f64; 3], axis: Vector3<f64>, angle_rad: f64) -> Piece {
    let turn = UnitQuaternion::from_scaled_axis(axis * angle_rad);
    let solid_from_block = Isometry3::from_parts(Translation3::from(Vector3::from(at)), turn);
    Piece::Block { solid_from_block, half_mm: Vector3::from(size) / 2.0 }
}

fn capsule(from: [f64; 3], to: [f64; 3], radius_mm: f64) -> Piece {
    Piece::Capsule { from: from.into(), to: to.into(), radius_mm }
}

fn cylinder(from: [f64; 3], to: [f64; 3], radius_mm: f64) -> Piece {
    Piece::Frustum { from: from.into(), to: to.into(), from_radius_mm: radius_mm, to_radius_mm: radius_mm }
}

fn arc(ring_radius_mm: f64, tube_radius_mm: f64, sweep_rad: f64) -> Piece {
    Piece::Arc {
        center: Point3::origin(),
        axis: Vector3::z_axis(),
        start: Vector3::x_axis(),
        ring_radius_mm,
        tube_radius_mm,
        sweep_rad,
    }
}

#[test]
fn pairs_of_pieces_have_the_published_gaps() {
    let x = Vector3::x();
    let (y, z) = (Vector3::y(), Vector3::z());
    let thin = |from, to| capsule(from, to, 1e-9);
    for (case, a, b, want_mm, tolerance) in [
        (
            "two balls: hypot(60, 20, 30) - 50 = 20",
            ball([0.0; 3], 30.0),
            ball([60.0, 20.0, 30.0], 20.0),
            20.0,
            1e-9,
        ),
        (
            "boxes corner to corner: hypot(10, 15, 20)",
            block([100.0, 60.0, 40.0], [0.0; 3], z, 0.0),
            block([20.0; 3], [70.0, 55.0, 50.0], z, 0.0),
            725f64.sqrt(),
            1e-9,
        ),
        (
            "box edge to face: 30 - 10 sqrt 2",
            block([100.0, 60.0, 40.0], [0.0; 3], z, 0.0),
            block([20.0; 3], [80.0, 0.0, 0.0], z, FRAC_PI_4),
            30.0 - 200f64.sqrt(),
            1e-9,
        ),
        (
            "boxes with crossed edges: 50 - 20 sqrt 2",
            block([20.0; 3], [0.0; 3], x, FRAC_PI_4),
            block([20.0; 3], [0.0, 0.0, 50.0], y, FRAC_PI_4),
            50.0 - 800f64.sqrt(),
            1e-9,
        ),
        (
            "segments, both interior",
            thin([0.0; 3], [100.0, 0.0, 0.0]),
            thin([50.0, -40.0, 30.0], [50.0, 40.0, 30.0]),
            30.0,
            1e-8,
        ),
        (
            "segments end to end: hypot(20, 30, 40)",
            thin([0.0; 3], [100.0, 0.0, 0.0]),
            thin([120.0, 30.0, 40.0], [120.0, 130.0, 40.0]),
            2900f64.sqrt(),
            1e-8,
        ),
        (
            "segments parallel and side by side",
            thin([0.0; 3], [100.0, 0.0, 0.0]),
            thin([40.0, 30.0, 0.0], [200.0, 30.0, 0.0]),
            30.0,
            1e-8,
        ),
        (
            "segments in general position (scipy minimize)",
            thin([0.0; 3], [10.0, 10.0, 0.0]),
            thin([10.0, 0.0, 5.0], [0.0, 8.0, 9.0]),
            6.889_986_2,
            1e-6,
        ),
        (
            "capsules crossed: 50 - 10 - 15",
            capsule([-50.0, 0.0, 0.0], [50.0, 0.0, 0.0], 10.0),
            capsule([0.0, -40.0, 50.0], [0.0, 40.0, 50.0], 15.0),
            25.0,
            1e-9,
        ),
        (
            "cylinders parallel: hypot(40, 30) - 44",
            cylinder([0.0, 0.0, -50.0], [0.0, 0.0, 50.0], 25.0),
            cylinder([40.0, 30.0, -50.0], [40.0, 30.0, 50.0], 19.0),
            6.0,
            1e-9,
        ),
        (
            "cylinders crossed: 60 - 44",
            cylinder([0.0, 0.0, -50.0], [0.0, 0.0, 50.0], 25.0),
            cylinder([-50.0, 60.0, 0.0], [50.0, 60.0, 0.0], 19.0),
            16.0,
            1e-9,
        ),
        (
            "cylinder to a box's edge: 55 - 25 sqrt 2",
            cylinder([0.0, 0.0, -50.0], [0.0, 0.0, 50.0], 25.0),
            block([50.0; 3], [80.0, 0.0, 0.0], z, FRAC_PI_4),
            55.0 - 1250f64.sqrt(),
            1e-9,
        ),
        (
            "point to box",
            block([100.0, 60.0, 40.0], [0.0; 3], z, 0.0),
            ball([70.0, 45.0, 10.0], 1e-12),
            25.0,
            1e-9,
        ),
        (
            "ball 5 deep in a box",
            block([100.0, 60.0, 40.0], [0.0; 3], z, 0.0),
            ball([0.0, 0.0, 25.0], 10.0),
            -5.0,
            1e-9,
        ),
        ("ball inside a ring's hole: 60 - 20 - 15", arc(60.0, 20.0, TAU), ball([0.0; 3], 15.0), 25.0, 1e-9),
        (
            "cylinder through a ring's hole: 60 - 20 - 30",
            arc(60.0, 20.0, TAU),
            cylinder([0.0, 0.0, -90.0], [0.0, 0.0, 90.0], 30.0),
            10.0,
            1e-8,
        ),
        (
            "box beside a ring: 100 - 10 - 80",
            arc(60.0, 20.0, TAU),
            block([20.0; 3], [100.0, 0.0, 0.0], z, 0.0),
            10.0,
            1e-9,
        ),
        (
            "linked rings, each through the other's middle: 60 - 40",
            arc(60.0, 20.0, TAU),
            Piece::Arc {
                center: Point3::new(60.0, 0.0, 0.0),
                axis: Vector3::y_axis(),
                start: Vector3::x_axis(),
                ring_radius_mm: 60.0,
                tube_radius_mm: 20.0,
                sweep_rad: TAU,
            },
            20.0,
            1e-8,
        ),
    ] {
        let (a, b) = (one(a), one(b));
        let found = gap(&a, &b, &Pose::identity());
        let got = found.gap.mm();
        assert!((got - want_mm).abs() < tolerance, "{case}: got {got} mm, want {want_mm} mm");
        let w = &found.witness;
        let miss = (w.on_moving - w.on_fixed - w.normal.into_inner() * got).norm();
        assert!(miss < 1e-6, "{case}: witness {w:?} misses by {miss:e}");
        let back = gap(&b, &a, &Pose::identity());
        assert!((back.gap.mm() - got).abs() < 1e-9, "{case}: swapped {}", back.gap.mm());
        assert_eq!(touches(&a, &b, &Pose::identity()), want_mm <= 0.0, "{case}");
        for limit in [want_mm - 0.01, want_mm + 0.01] {
            match gap_under(&a, &b, &Pose::identity(), Length::from_mm(limit)) {
                GapUnder::Clear { at_least } => {
                    assert!(limit < want_mm, "{case}: clear at {limit}");
                    assert!(
                        at_least.mm() >= limit && at_least.mm() <= want_mm + 1e-6,
                        "{case}: {at_least:?}"
                    );
                }
                GapUnder::Under(found) => {
                    assert!(limit > want_mm, "{case}: under {limit}");
                    assert!((found.gap.mm() - want_mm).abs() < tolerance, "{case}");
                }
            }
        }
    }
}

#[test]
fn the_witness_of_two_balls_is_where_the_formula_says() {
    let found = gap(&one(ball([0.0; 3], 30.0)), &one(ball([60.0, 20.0, 30.0], 20.0)), &Pose::identity());
    let on_fixed = Point3::new(25.714_285_7, 8.571_428_6, 12.857_142_9);
    let on_moving = Point3::new(42.857_142_9, 14.285_714_3, 21.428_571_4);
    assert!((found.witness.on_fixed - on_fixed).norm() < 1e-7, "{found:?}");
    assert!((found.witness.on_moving - on_moving).norm() < 1e-7, "{found:?}");
}

#[test]
fn skew_lines_are_as_far_apart_as_school_says() {
    // Lines as capsules long enough that the common perpendicular lies well inside them.
    let line = |through: [f64; 3], along: [f64; 3]| {
        let (p, d) = (Vector3::from(through), Vector3::from(along) * 50.0);
        capsule((p - d).into(), (p + d).into(), 1e-12)
    };
    for (case, a, b, want_mm) in [
        (
            "10 / sqrt 59",
            line([1.0, 1.0, 0.0], [2.0, -1.0, 1.0]),
            line([2.0, 1.0, -1.0], [3.0, -5.0, 2.0]),
            10.0 / 59f64.sqrt(),
        ),
        (
            "8 / sqrt 230",
            line([1.0, -2.0, 4.0], [1.0, 3.0, -1.0]),
            line([0.0, 3.0, -3.0], [2.0, 1.0, 4.0]),
            8.0 / 230f64.sqrt(),
        ),
    ] {
        let got = gap(&one(a), &one(b), &Pose::identity()).gap.mm();
        assert!((got - want_mm).abs() < 1e-9, "{case}: got {got}, want {want_mm}");
    }
}

#[test]
fn points_lie_as_far_from_rings_and_bends_as_the_formula_says() {
    let ring = one(arc(60.0, 20.0, TAU));
    // Centreline radius 76.2, a quarter turn; its tube so thin that the distance is the centreline's.
    let bend = one(arc(76.2, 1e-9, FRAC_PI_2));
    for (case, solid, point, want_mm) in [
        ("ring, outside", &ring, [100.0, 50.0, 30.0], 39.863_111_6),
        ("ring, in the hole off centre", &ring, [10.0, 0.0, 0.0], 30.0),
        ("ring, inside the tube", &ring, [60.0, 0.0, 5.0], -15.0),
        ("ring, at its very centre", &ring, [0.0, 0.0, 0.0], 40.0),
        ("bend, within its sector", &bend, [100.0, 100.0, 20.0], 68.218_951_2),
        ("bend, past its end", &bend, [100.0, -30.0, 0.0], 38.294_124_9),
    ] {
        let found = closest(solid, &point.into());
        assert!((found.distance_mm - want_mm).abs() < 1e-6, "{case}: got {}", found.distance_mm);
        let on = Point3::from(point) - found.normal.into_inner() * found.distance_mm;
        assert!((on - found.point).norm() < 1e-6, "{case}: {found:?}");
    }
}
