//! Laws of convex pairs, against brute force over directions and against closed forms.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use nalgebra::{Matrix3, Point3, UnitQuaternion, Vector3};

use super::*;
use crate::clearance::tests::Dice;

fn any_convex(dice: &mut Dice, kind: usize, size: f64, spread: f64) -> Convex {
    let at = dice.point(spread);
    let turn = dice.turn();
    let mut near = |s: f64| at + dice.vector(s);
    match kind {
        0 => Convex::new(Core::Point(at), size * 0.6),
        1 => Convex::new(Core::Segment([near(size), near(size)]), size * 0.3),
        2 => Convex::new(Core::Triangle([near(size), near(size), near(size)]), 0.0),
        3 => Convex::new(
            Core::Block {
                center: at,
                axes: Matrix3::from(turn.to_rotation_matrix()),
                half_mm: Vector3::new(size, size * 0.5, size * 0.25),
            },
            0.0,
        ),
        4 => {
            let normal = turn * Vector3::z();
            Convex::new(
                Core::Discs([
                    Disc { center: at - normal * size, normal, radius_mm: size * 0.5 },
                    Disc { center: at + normal * size, normal, radius_mm: size * 0.4 },
                ]),
                0.0,
            )
        }
        5 => Convex::new(
            Core::Points {
                points: (0..12).map(|_| near(size)).collect::<Vec<_>>().into(),
                here_from_points: nalgebra::Isometry3::identity(),
            },
            0.0,
        ),
        _ => Convex::new(
            Core::Bend(BendCore {
                center: at,
                x: turn * Vector3::x(),
                y: turn * Vector3::y(),
                z: turn * Vector3::z(),
                ring_mm: size,
                tube_mm: size * 0.3,
                from_rad: 0.0,
                to_rad: 1.2,
            }),
            0.0,
        ),
    }
}

/// Separation along a unit direction: a lower bound on the gap of any convex pair, and at the best
/// direction the signed gap itself.
fn along(a: &Convex, b: &Convex, n: &Vector3<f64>) -> f64 {
    -b.reach(&-n) - a.reach(n)
}

#[test]
fn the_gap_is_the_best_separation_over_all_directions() {
    let mut dice = Dice::new(11);
    let mut overlapping = 0;
    let mut worst = [[0.0f64; 7]; 7];
    for round in 0..1500 {
        let (ka, kb) = (round % 7, (round / 7) % 7);
        let a = any_convex(&mut dice, ka, 30.0, 10.0);
        let b = any_convex(&mut dice, kb, 25.0, 45.0);
        let found = nearest(&a, &b);
        overlapping += usize::from(found.gap_mm < 0.0);
        // The normal's own separation is the gap: a proof from both sides when apart.
        let slip = (along(&a, &b, &found.normal) - found.gap_mm).abs();
        worst[ka][kb] = worst[ka][kb].max(slip);
        assert!(slip < 2e-9, "{round} kinds {ka} {kb}: gap {} off by {slip:e}", found.gap_mm);
        // No direction separates better.
        for _ in 0..60 {
            let n = dice.turn() * Vector3::x();
            assert!(along(&a, &b, &n) <= found.gap_mm + 1e-9, "{round} kinds {ka} {kb}: better direction");
            let m = (found.normal + dice.vector(0.03)).normalize();
            assert!(
                along(&a, &b, &m) <= found.gap_mm + 1e-9,
                "{round} kinds {ka} {kb}: better direction near by {:e}",
                along(&a, &b, &m) - found.gap_mm
            );
        }
        // The witness points are as far apart as the gap says, along the normal.
        let miss = (found.on_b - found.on_a - found.normal * found.gap_mm).norm();
        assert!(miss < 1e-4, "{round} kinds {ka} {kb}: witness off by {miss:e} at gap {}", found.gap_mm);
    }
    assert!(overlapping > 200 && overlapping < 1300, "{overlapping} overlapped");
    let worst = worst.iter().flatten().fold(0.0f64, |m, w| m.max(*w));
    println!("worst slip {worst:e} mm");
}

#[test]
fn exits_touch() {
    let mut dice = Dice::new(5);
    for round in 0..600 {
        let (ka, kb) = (round % 7, (round / 7) % 7);
        let a = any_convex(&mut dice, ka, 30.0, 5.0);
        let b = any_convex(&mut dice, kb, 25.0, 5.0);
        if nearest(&a, &b).gap_mm > -0.1 {
            continue;
        }
        let u = dice.turn() * Vector3::x();
        let exit = overlap_exit(&a, &b, &u).expect("overlapping bodies have an exit");
        let there = nearest(&a, &b.shifted(&(u * exit))).gap_mm;
        assert!(there.abs() < 1e-6, "{round} kinds {ka} {kb}: gap {there:e} at the exit");
        let before = nearest(&a, &b.shifted(&(u * (exit * 0.999)))).gap_mm;
        assert!(before < 0.0, "{round} kinds {ka} {kb}: gap {before:e} before the exit");
    }
}

#[test]
fn triangles_agree_with_the_general_kernel() {
    let mut dice = Dice::new(3);
    for round in 0..3000 {
        let flat = if round % 3 == 0 { 0.0 } else { 1.0 };
        let mut corner = |spread: f64| {
            let p = dice.point(spread);
            Point3::new(p.x, p.y, p.z * flat)
        };
        let (mut s, t) =
            ([corner(10.0), corner(10.0), corner(10.0)], [corner(12.0), corner(12.0), corner(12.0)]);
        if round % 7 == 0 {
            s[2] = nalgebra::center(&s[0], &s[1]);
        }
        let (p, q) = triangles(&s, &t);
        let direct = (p - q).norm();
        let other = match super::descend::distance(&Core::Triangle(s), &Core::Triangle(t)) {
            super::descend::Stand::Apart { distance_mm, .. } => distance_mm,
            super::descend::Stand::Meeting { .. } => 0.0,
        };
        assert!((direct - other).abs() < 1e-9, "{round}: {direct} against {other}");
    }
}

#[test]
fn degenerate_bodies_do_not_break_the_kernel() {
    let p = Point3::new(1.0, 2.0, 3.0);
    let flat = Core::Points { points: vec![p; 5].into(), here_from_points: nalgebra::Isometry3::identity() };
    let block = Core::Block { center: p, axes: Matrix3::identity(), half_mm: Vector3::new(5.0, 5.0, 5.0) };
    let cases = [
        ("a hull of one point deep in a block: 5 to the nearest face", flat.clone(), block.clone(), -5.0),
        ("two equal points", flat.clone(), flat, 0.0),
        (
            "two equal segments",
            Core::Segment([p, p + Vector3::x()]),
            Core::Segment([p, p + Vector3::x()]),
            0.0,
        ),
        ("a block in itself: its own width", block.clone(), block, -10.0),
        ("equal triangles lie in one plane", triangle(p), triangle(p), 0.0),
    ];
    for (case, a, b, want) in cases {
        let got = nearest(&Convex::new(a, 0.0), &Convex::new(b, 0.0)).gap_mm;
        assert!((got - want).abs() < 1e-9, "{case}: got {got}, want {want}");
    }
}

fn triangle(p: Point3<f64>) -> Core {
    Core::Triangle([p, p + Vector3::x(), p + Vector3::y()])
}

#[test]
fn parallel_cylinders_and_rims() {
    let up = UnitQuaternion::identity();
    let tin = |x: f64, y: f64, r: f64, z0: f64, z1: f64| {
        let normal = up * Vector3::z();
        let disc = |z: f64| Disc { center: Point3::new(x, y, z), normal, radius_mm: r };
        Convex::new(Core::Discs([disc(z0), disc(z1)]), 0.0)
    };
    for (case, a, b, want) in [
        ("side by side, 50 - 44", tin(0.0, 0.0, 25.0, -50.0, 50.0), tin(40.0, 30.0, 19.0, -40.0, 40.0), 6.0),
        ("stacked with a gap of 2", tin(0.0, 0.0, 25.0, 0.0, 50.0), tin(3.0, 0.0, 19.0, 52.0, 60.0), 2.0),
        ("rim to rim, 3-4-5", tin(0.0, 0.0, 10.0, 0.0, 10.0), tin(23.0, 0.0, 10.0, 14.0, 20.0), 5.0),
        (
            "stacked and overlapping by 3",
            tin(0.0, 0.0, 25.0, 0.0, 50.0),
            tin(3.0, 0.0, 19.0, 47.0, 90.0),
            -3.0,
        ),
        (
            "side by side, overlapping by 2",
            tin(0.0, 0.0, 25.0, 0.0, 500.0),
            tin(42.0, 0.0, 19.0, 0.0, 500.0),
            -2.0,
        ),
    ] {
        let got = nearest(&a, &b).gap_mm;
        assert!((got - want).abs() < 1e-9, "{case}: got {got}, want {want}");
    }
}
