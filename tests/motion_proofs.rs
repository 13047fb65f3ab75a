//! Gaps over movements, against dense sampling and closed forms.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::common;

use std::f64::consts::TAU;
use std::sync::Arc;

use baywright::clearance::{GapUnder, IndexedShape, gap, gap_under};
use baywright::motion::{Freedom, GapOverUnder, Movement, Rider, gap_over, gap_over_under};
use baywright::solid::{Piece, Shape};
use baywright::space::{Axis, Length, Pose};
use common::{Dice, torus_mesh};
use nalgebra::{Point3, Unit, Vector3};
use rayon::prelude::*;

fn turn(through: [f64; 3], along: Vector3<f64>, from_rad: f64, to_rad: f64) -> Freedom {
    Freedom::Turn {
        axis: Axis { through: through.into(), along: Unit::new_normalize(along) },
        from_rad,
        to_rad,
    }
}

fn slide(along: Vector3<f64>, from_mm: f64, to_mm: f64) -> Freedom {
    Freedom::Slide { along: Unit::new_normalize(along), from_mm, to_mm }
}

fn ball(radius_mm: f64) -> IndexedShape {
    IndexedShape::of_pieces(&[Piece::Ball { center: Point3::origin(), radius_mm }])
}

fn block(half: [f64; 3]) -> IndexedShape {
    let half_mm = Vector3::from(half);
    IndexedShape::of_pieces(&[Piece::Block { solid_from_block: Pose::identity(), half_mm }])
}

#[test]
fn known_movements_have_known_least_gaps() {
    let z = Vector3::z();
    let (x, y) = (Vector3::x(), Vector3::y());
    for (case, fixed, at, moving, from, freedoms, want_mm) in [
        (
            "ball on an arm past a ball: 150 - 100 - 20",
            ball(10.0),
            [150.0, 0.0, 0.0],
            ball(10.0),
            [100.0, 0.0, 0.0],
            vec![turn([0.0; 3], z, -0.6, 0.4)],
            30.0,
        ),
        (
            "the range ends short of it: chord of 2 sin(0.15) apart, on radius 100",
            ball(10.0),
            [100.0, 0.0, 0.0],
            ball(10.0),
            [100.0, 0.0, 0.0],
            vec![turn([0.0; 3], z, 0.3, 0.9)],
            200.0 * 0.15f64.sin() - 20.0,
        ),
        (
            "a box turned about its middle shows a wall its corner: 60 - hypot(30, 40)",
            block([5.0, 200.0, 50.0]),
            [65.0, 0.0, 0.0],
            block([30.0, 40.0, 10.0]),
            [0.0; 3],
            vec![turn([0.0; 3], z, 0.0, TAU / 2.0)],
            10.0,
        ),
        (
            "slid up to 20 toward it: 100 - 20 - 20",
            ball(10.0),
            [100.0, 0.0, 0.0],
            ball(10.0),
            [0.0; 3],
            vec![slide(x, -30.0, 20.0)],
            60.0,
        ),
        (
            "slid past it: nearest in passing, 40 - 20",
            ball(10.0),
            [100.0, 40.0, 0.0],
            ball(10.0),
            [0.0; 3],
            vec![slide(x, 0.0, 300.0)],
            20.0,
        ),
        (
            "turned and slid: the arm reaches 100 + 25 toward it, 150 - 125 - 20",
            ball(10.0),
            [150.0, 0.0, 0.0],
            ball(10.0),
            [100.0, 0.0, 0.0],
            vec![turn([0.0; 3], z, -0.6, 0.4), slide(x, -5.0, 25.0)],
            5.0,
        ),
        (
            "into each other: depth 20 - 15 at the nearest",
            ball(10.0),
            [100.0, 15.0, 0.0],
            ball(10.0),
            [0.0; 3],
            vec![slide(x, 0.0, 300.0)],
            -5.0,
        ),
        (
            "two freedoms of which one does nothing",
            ball(10.0),
            [100.0, 0.0, 0.0],
            ball(10.0),
            [0.0; 3],
            vec![turn([0.0; 3], y, 0.0, 0.0), slide(x, 0.0, 20.0)],
            60.0,
        ),
    ] {
        let still = Movement::still();
        let movement = Movement { freedoms };
        let (world_from_fixed, world_from_moving) =
            (Pose::translation(at[0], at[1], at[2]), Pose::translation(from[0], from[1], from[2]));
        let fixed = Rider { shape: &fixed, world_from_solid: &world_from_fixed, movement: &still };
        let moving = Rider { shape: &moving, world_from_solid: &world_from_moving, movement: &movement };
        let found = gap_over(&fixed, &moving, Length::from_mm(0.01));
        let (lower, upper) = (found.lower.mm(), found.upper.gap.mm());
        assert!(found.settled, "{case}: {found:?}");
        assert!(
            lower <= want_mm + 1e-9 && upper >= want_mm - 1e-6,
            "{case}: {lower}..{upper}, want {want_mm}"
        );
        assert!(upper - lower <= 0.01 + 1e-9, "{case}: {lower}..{upper}");
        // Seen from the other side it is the same.
        let back = gap_over(&moving, &fixed, Length::from_mm(0.01));
        assert!(
            back.lower.mm() <= want_mm + 1e-9 && back.upper.gap.mm() >= want_mm - 1e-6,
            "{case}: {back:?}"
        );
        for limit in [want_mm - 0.5, want_mm + 0.5] {
            match gap_over_under(&fixed, &moving, Length::from_mm(limit), Length::from_mm(0.01)) {
                GapOverUnder::Clear { at_least } => {
                    assert!(
                        limit < want_mm && at_least.mm() >= limit && at_least.mm() <= want_mm + 1e-9,
                        "{case}"
                    );
                }
                GapOverUnder::Under(found) => {
                    assert!(limit > want_mm && found.upper.gap.mm() >= want_mm - 1e-6, "{case}");
                }
            }
        }
    }
}

fn solids() -> Vec<(&'static str, IndexedShape)> {
    let bend = Piece::Arc {
        center: Point3::origin(),
        axis: Vector3::z_axis(),
        start: Vector3::x_axis(),
        ring_radius_mm: 40.0,
        tube_radius_mm: 12.0,
        sweep_rad: TAU / 4.0,
    };
    let frustum = |from: [f64; 3], to: [f64; 3]| Piece::Frustum {
        from: from.into(),
        to: to.into(),
        from_radius_mm: 12.0,
        to_radius_mm: 12.0,
    };
    vec![
        (
            "pipe",
            IndexedShape::of_pieces(&[
                frustum([40.0, -60.0, 0.0], [40.0, 0.0, 0.0]),
                bend,
                frustum([0.0, 40.0, 0.0], [-50.0, 40.0, 0.0]),
            ]),
        ),
        ("block", block([40.0, 25.0, 10.0])),
        (
            "capsule",
            IndexedShape::of_pieces(&[Piece::Capsule {
                from: Point3::new(-30.0, 0.0, 0.0),
                to: Point3::new(30.0, 10.0, 0.0),
                radius_mm: 8.0,
            }]),
        ),
        ("torus mesh", IndexedShape::new(Arc::new(Shape::Mesh(torus_mesh(40.0, 12.0, 18, 10))))),
    ]
}

fn any_movement(dice: &mut Dice, round: usize) -> Movement {
    let through = dice.point(150.0).coords.into();
    let axis = dice.turn() * Vector3::x();
    let half = 0.04 + 0.2 * dice.roll().abs();
    let rock = turn(through, axis, -half, half * 0.7);
    let bounce = slide(dice.turn() * Vector3::x(), -8.0, 5.0);
    match round % 4 {
        0 => Movement { freedoms: vec![rock] },
        1 => Movement { freedoms: vec![rock, bounce] },
        2 => Movement { freedoms: vec![bounce] },
        _ => Movement { freedoms: vec![bounce, rock] },
    }
}

/// Samples of each scene. Where several things move, the first half is spread over all poses and the second
/// gathers round the best found so far, nearer after each miss, so that the least is met closely.
const SAMPLES: u32 = 5_000;

/// The least gap met among the samples, mm; stops at the first overlap.
fn sampled(fixed: &Rider<'_>, moving: &Rider<'_>, dice: &mut Dice) -> f64 {
    let freedoms: Vec<&Freedom> = fixed.movement.freedoms.iter().chain(&moving.movement.freedoms).collect();
    let split = fixed.movement.freedoms.len();
    let (mut least, mut best, mut spread) = (f64::INFINITY, vec![0.0; freedoms.len()], 0.1);
    for sample in 0..SAMPLES {
        let values: Vec<f64> = freedoms
            .iter()
            .zip(&best)
            .map(|(freedom, best)| {
                let (low, high) = freedom.range();
                if freedoms.len() == 1 {
                    low + (high - low) * f64::from(sample) / f64::from(SAMPLES - 1)
                } else if sample < SAMPLES / 2 {
                    low + (high - low) * dice.roll().abs()
                } else {
                    (best + spread * (high - low) * dice.roll()).clamp(low, high)
                }
            })
            .collect();
        let a = fixed.movement.world_from_rest(&values[..split]) * fixed.world_from_solid;
        let b = moving.movement.world_from_rest(&values[split..]) * moving.world_from_solid;
        let limit = Length::from_mm(least.min(1e6));
        if let GapUnder::Under(here) = gap_under(fixed.shape, moving.shape, &(a.inverse() * b), limit)
            && here.gap.mm() < least
        {
            (least, best) = (here.gap.mm(), values);
            spread = f64::min(spread * 1.7, 0.3);
            if least <= 0.0 {
                break;
            }
        } else if sample >= SAMPLES / 2 {
            spread = (spread * 0.93).max(1e-6);
        }
    }
    least
}

/// The proved interval holds whatever is sampled, and the sample reaches down into it.
#[test]
fn the_proved_minimum_is_never_above_dense_sampling_and_within_a_hundredth_of_it() {
    let solids = solids();
    let met: Vec<bool> = (0..200usize)
        .into_par_iter()
        .map(|round| {
            let mut dice = Dice::new(2100 + round as u64);
            let (one, two) = (&solids[round % 4], &solids[(round / 4) % 4]);
            let (place_a, place_b) = (dice.pose(40.0), dice.pose(90.0));
            let still = Movement::still();
            let (first, second) = (any_movement(&mut dice, round), any_movement(&mut dice, round / 2));
            let first = if round % 5 == 0 { &first } else { &still };
            let fixed = Rider { shape: &one.1, world_from_solid: &place_a, movement: first };
            let moving = Rider { shape: &two.1, world_from_solid: &place_b, movement: &second };
            let found = gap_over(&fixed, &moving, Length::from_mm(0.005));
            let (lower, upper) = (found.lower.mm(), found.upper.gap.mm());
            let case = format!("{round}: {} and {}, {lower}..{upper}", one.0, two.0);
            assert!(lower <= upper, "{case}");
            // The witness pose has the gap that it says.
            let pose_a = fixed.movement.world_from_rest(&found.fixed_values) * place_a;
            let pose_b = moving.movement.world_from_rest(&found.moving_values) * place_b;
            let there = gap(&one.1, &two.1, &(pose_a.inverse() * pose_b)).gap.mm();
            assert!((there - upper).abs() < 1e-9, "{case}: {there} at its own pose");
            let least = sampled(&fixed, &moving, &mut dice);
            if least > 0.0 && upper > 0.0 {
                assert!(found.settled && upper - lower <= 0.005 + 1e-9, "{case}");
                assert!(lower <= least + 1e-9, "{case}: sampled {least}");
                // Rock alone, or rock and bounce. Five thousand poses do not reach a kink where four things move;
                // the pose found there is checked above instead.
                let few = first.freedoms.len() + second.freedoms.len() <= 2;
                assert!(!few || least - lower <= 0.01, "{case}: sampled {least}");
                false
            } else {
                assert!(upper <= 1e-9, "{case}: sampled {least}");
                assert!(lower <= least + 1e-6, "{case}: sampled {least}");
                true
            }
        })
        .collect();
    let meeting = met.iter().filter(|met| **met).count();
    assert!((30..170).contains(&meeting), "{meeting} of 200 meet: too few of one kind to tell anything");
}

/// A bent pipe on an engine that rocks and bounces, under a lid that swings shut into it: the depth told is no less
/// than at any end of any freedom, whatever the others do.
#[test]
fn the_depth_over_a_movement_is_that_of_its_worst_ends() {
    let capsule = |from: [f64; 3], to: [f64; 3]| Piece::Capsule {
        from: Point3::from(from),
        to: Point3::from(to),
        radius_mm: 30.0,
    };
    let pipe = IndexedShape::of_pieces(&[
        capsule([0.0, 0.0, 0.0], [0.0, 0.0, 120.0]),
        capsule([0.0, 0.0, 120.0], [150.0, 40.0, 150.0]),
    ]);
    let lid = block([260.0, 200.0, 6.0]);
    let mut dice = Dice::new(5150);
    let mut deep = 0;
    for round in 0..12 {
        let engine = Movement {
            freedoms: vec![
                turn([0.0, 0.0, -150.0], Vector3::x(), -0.05, 0.06),
                slide(Vector3::z(), -6.0, 4.0),
            ],
        };
        let hinge = Movement { freedoms: vec![turn([320.0, 0.0, 190.0], Vector3::y(), -0.03, 0.8)] };
        let world_from_pipe = Pose::translation(10.0 * dice.roll(), 30.0 * dice.roll(), 10.0 * dice.roll());
        let world_from_lid = Pose::translation(60.0, 0.0, 165.0 + 12.0 * dice.roll());
        let fixed = Rider { shape: &pipe, world_from_solid: &world_from_pipe, movement: &engine };
        let moving = Rider { shape: &lid, world_from_solid: &world_from_lid, movement: &hinge };
        let found = gap_over(&fixed, &moving, Length::from_mm(0.01));
        let ends = |freedom: &Freedom| <[f64; 2]>::from(freedom.range());
        let mut deepest = f64::INFINITY;
        for rock in ends(&engine.freedoms[0]) {
            for bounce in ends(&engine.freedoms[1]) {
                for swing in ends(&hinge.freedoms[0]) {
                    let world_from_fixed = engine.world_from_rest(&[rock, bounce]) * world_from_pipe;
                    let world_from_moving = hinge.world_from_rest(&[swing]) * world_from_lid;
                    let here = gap(&pipe, &lid, &world_from_fixed.inv_mul(&world_from_moving)).gap.mm();
                    deepest = deepest.min(here);
                }
            }
        }
        let told = found.upper.gap.mm();
        assert!(told <= deepest + 1e-6, "round {round}: told {told}, at the ends {deepest}");
        assert!(found.lower.mm() <= told);
        deep += usize::from(deepest < -20.0);
    }
    assert!(deep >= 6, "only {deep} rounds overlapped by much");
}
