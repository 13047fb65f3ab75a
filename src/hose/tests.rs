#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::f64::consts::PI;

use approx::assert_relative_eq;
use nalgebra::{Point3, Unit, Vector3};
use proptest::prelude::*;

use super::*;
use crate::space::pose_of_turn;

fn port(at: [f64; 3], out: [f64; 3]) -> Port {
    Port { at: at.into(), out: Unit::new_normalize(Vector3::from(out)) }
}

fn hose(from: Port, to: Port, length_mm: f64) -> Hose {
    Hose {
        from,
        to,
        clips: Vec::new(),
        length_mm,
        radius_mm: 8.0,
        stiffness_n_mm2: 5e4,
        weight_n_mm: 0.0,
        up: Vector3::z_axis(),
    }
}

/// Between ports that touch a circle, as long as the arc, no force acts and the hose is the arc itself.
#[test]
fn without_weight_an_arc_stays_an_arc() {
    for (angle, radius) in [(PI, 120.0), (PI / 2.0, 200.0), (1.3 * PI, 90.0)] {
        let end = [radius * angle.sin(), 0.0, radius * (1.0 - angle.cos())];
        let back = [-angle.cos(), 0.0, -angle.sin()];
        let mut last = f64::INFINITY;
        for pieces in [24, 48, 96] {
            let asked = hose(port([0.0; 3], [1.0, 0.0, 0.0]), port(end, back), radius * angle);
            let found = asked.relaxed_in(pieces).unwrap();
            assert_relative_eq!(found.length_mm(), radius * angle, max_relative = 1e-9);
            let off = found
                .points
                .iter()
                .map(|p| (Vector3::new(p.x, p.y, p.z - radius).norm() - radius).abs())
                .fold(0.0, f64::max);
            // Second order: a quarter with every halving of the pieces, and of the size of a chord's height h^2 / 8 R.
            let height = (radius * angle / pieces as f64).powi(2) / (8.0 * radius);
            assert!(off < 2.0 * height && off < 0.3 * last, "{angle} {pieces}: {off} {height}");
            last = off;
            let tight = found.tightest().radius_mm;
            assert!(
                (tight / radius - 1.0).abs() < 5.0 * height / radius,
                "{angle} {pieces}: {tight} {radius}"
            );
        }
    }
}

/// A hose that hardly resists hangs like a chain: the catenary z = a cosh(x / a), of length 2 a sinh(d / 2a) between
/// supports of one height d apart (any text on statics), whose lowest point lies a (cosh(d / 2a) - 1) under them.
#[test]
fn a_limp_hose_hangs_like_a_chain() {
    let (apart, a) = (400.0, 180.0);
    let half = apart / 2.0 / a;
    let (length, sag) = (2.0 * a * f64::sinh(half), a * (f64::cosh(half) - 1.0));
    let mut asked =
        hose(port([0.0; 3], [1.0, 0.0, -1.2]), port([apart, 0.0, 0.0], [-1.0, 0.0, -1.2]), length);
    asked.weight_n_mm = 5e-3;
    asked.stiffness_n_mm2 = 20.0;
    let found = asked.relaxed_in(96).unwrap();
    assert_relative_eq!(found.sag_mm(), sag, max_relative = 5e-3);
    let middle = found.points[48];
    assert_relative_eq!(middle.x, apart / 2.0, epsilon = 1e-3);
}

/// A stiff beam held level at both ends sinks by w l^4 / (384 E I) in its middle (any text on the strength of materials); it
/// is hardly longer than the way between its ends.
#[test]
fn a_stiff_one_sinks_like_a_beam() {
    let (apart, weight, stiffness) = (400.0, 5e-3, 1e6);
    let sinks = weight * 400.0f64.powi(4) / (384.0 * stiffness);
    // The line of a sunk beam, z = s (1 - cos(2 pi x / l)) / 2 to first order, is longer by about (pi s)^2 / (4 l): given just that,
    // it neither pulls nor buckles.
    let shape = |x: f64| sinks * 16.0 * (x * (1.0 - x)).powi(2);
    let steps = 20_000;
    let length: f64 = (0..steps)
        .map(|i| {
            let (x0, x1) = (f64::from(i) / f64::from(steps), f64::from(i + 1) / f64::from(steps));
            (apart / f64::from(steps)).hypot(shape(x1) - shape(x0))
        })
        .sum();
    let mut asked = hose(port([0.0; 3], [1.0, 0.0, 0.0]), port([apart, 0.0, 0.0], [-1.0, 0.0, 0.0]), length);
    asked.weight_n_mm = weight;
    asked.stiffness_n_mm2 = stiffness;
    let found = asked.relaxed_in(96).unwrap();
    assert_relative_eq!(found.sag_mm(), sinks, max_relative = 0.05);
    assert_relative_eq!(stiffness_from_droop(weight, 300.0, 2.0).unwrap(), weight * 300.0f64.powi(4) / 16.0);
}

#[test]
fn clips_hold_and_share_out_what_is_to_spare() {
    let mut asked = hose(port([0.0; 3], [1.0, 0.0, 0.0]), port([600.0, 0.0, 0.0], [-1.0, 0.0, 0.0]), 690.0);
    asked.weight_n_mm = 3e-3;
    let along = Vector3::x_axis();
    asked.clips = vec![Clip { at: Point3::new(200.0, 30.0, 0.0), along, from_start_mm: None }];
    let found = asked.relaxed().unwrap();
    assert!((found.points[48] - asked.clips[0].at).norm() < 1e-6);
    assert_relative_eq!(found.length_mm(), 690.0, max_relative = 1e-9);
    asked.clips[0].from_start_mm = Some(190.0);
    let short = asked.relaxed().unwrap_err();
    assert!(matches!(short, HoseError::TooShort { span: 1, .. }), "{short}");
    assert_eq!(
        short.to_string(),
        "span 1 of the hose is 190.0 mm long, but its holds are 202.2 mm apart: it is at least 12.2 mm short"
    );
    asked.clips[0].from_start_mm = Some(700.0);
    assert!(matches!(asked.relaxed(), Err(HoseError::ClipOrder { clip: 1, .. })));
    asked.clips.clear();
    asked.length_mm = f64::NAN;
    assert!(matches!(asked.relaxed(), Err(HoseError::Figure { .. })));
}

/// Hoses that are nearly pulled straight have a shape too: to first order the bulge of what is to spare, e, over a way c is a
/// cosine of height h with e = (pi h)^2 / 4 c where no weight pulls it, so h = 2 sqrt(c e) / pi.
#[test]
fn a_hose_that_is_nearly_straight_has_a_shape() {
    for spare in [0.05, 0.15, 0.5, 1.5, 5.0] {
        for weight in [0.0, 4e-3] {
            let mut asked = hose(
                port([0.0; 3], [1.0, 0.0, 0.0]),
                port([300.0, 0.0, 0.0], [-1.0, 0.0, 0.0]),
                300.0 + spare,
            );
            asked.weight_n_mm = weight;
            let found = asked.relaxed().unwrap_or_else(|error| panic!("{spare} {weight}: {error}"));
            let high = found.points.iter().map(|p| p.y.hypot(p.z)).fold(0.0, f64::max);
            let wanted = 2.0 * (300.0 * spare).sqrt() / PI;
            assert!((high / wanted - 1.0).abs() < 0.03, "{spare} {weight}: {high} where {wanted} is right");
        }
    }
}

#[test]
fn a_drain_that_dips_does_not_fall_all_the_way() {
    let steep = hose(port([0.0; 3], [0.2, 0.0, -1.0]), port([120.0, 0.0, -300.0], [-0.5, 0.0, 1.0]), 335.0);
    let found = steep.relaxed().unwrap();
    assert!(found.fall().least_rad > 0.3, "{:?}", found.fall());
    let mut dips = hose(port([0.0; 3], [1.0, 0.0, 0.0]), port([300.0, 0.0, -20.0], [-1.0, 0.0, 0.0]), 380.0);
    dips.weight_n_mm = 5e-3;
    let found = dips.relaxed().unwrap();
    assert!(found.fall().least_rad < -0.1 && found.sag_mm() > 20.0, "{:?} {}", found.fall(), found.sag_mm());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20))]
    /// It ends where it is held, is as long as it is, no small change of it costs less, and it does not matter where
    /// round the vertical it stands.
    #[test]
    fn it_is_at_rest(
        to in (100.0..400.0f64, -200.0..200.0f64, -250.0..250.0f64),
        out in ((0.1..1.0f64, -1.0..1.0f64, -1.0..1.0f64), (-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64)),
        spare in 1.15..1.8f64, weight in prop_oneof![Just(0.0), 1e-3..8e-3f64], about in 0.0..6.0f64,
    ) {
        let (x, y, z) = to;
        prop_assume!(Vector3::new(out.1.0, out.1.1, out.1.2).norm() > 0.2);
        let length = Vector3::new(x, y, z).norm() * spare;
        let mut asked = hose(
            port([0.0; 3], [out.0.0, out.0.1, out.0.2]),
            port([x, y, z], [out.1.0, out.1.1, out.1.2]),
            length,
        );
        asked.weight_n_mm = weight;
        let found = asked.relaxed().unwrap();
        let end = *found.points.last().unwrap();
        prop_assert!((end - asked.to.at).norm() < 1e-5, "{end}");
        prop_assert!((found.length_mm() - length).abs() < 1e-7);
        // Energy in units of E I / h, of this and of neighbours that keep lengths, ends and directions: two nodes are turned
        // about the line through their neighbours' far sides.
        let energy = |points: &[Point3<f64>]| -> f64 {
            let h = length / 48.0;
            let bend: f64 = points.windows(3).map(|p| 1.0 - (p[1] - p[0]).dot(&(p[2] - p[1])) / (h * h)).sum();
            let (first, last) = (points[1] - points[0], points[48] - points[47]);
            let bend = bend + 2.0 * (2.0 - (first.dot(&asked.from.out) - last.dot(&asked.to.out)) / h);
            let height: f64 = points.windows(2).map(|p| (p[0].z + p[1].z) / 2.0 * h).sum();
            bend + height * weight * h / asked.stiffness_n_mm2
        };
        let rest = energy(&found.points);
        for from in [0usize, 9, 20, 36] {
            for turn in [-2e-3, 2e-3] {
                let mut other = found.points.clone();
                let axis = crate::space::Axis {
                    through: other[from],
                    along: Unit::new_normalize(other[from + 12] - other[from]),
                };
                let pose = pose_of_turn(&axis, crate::space::Angle::from_rad(turn));
                other[from..from + 12].iter_mut().for_each(|p| *p = pose * *p);
                prop_assert!(energy(&other) >= rest - 1e-9, "{} {rest} from {from} by {turn}", energy(&other));
            }
        }
        let around = crate::space::Axis { through: Point3::origin(), along: Vector3::z_axis() };
        let pose = pose_of_turn(&around, crate::space::Angle::from_rad(about));
        let turned = Hose {
            from: Port { at: pose * asked.from.at, out: pose * asked.from.out },
            to: Port { at: pose * asked.to.at, out: pose * asked.to.out },
            ..asked.clone()
        };
        let other = turned.relaxed().unwrap();
        // Where two shapes cost alike, either may be found.
        let unturned: Vec<_> = other.points.iter().map(|p| pose.inverse() * p).collect();
        prop_assert!((energy(&unturned) - rest).abs() < 1e-3 * (1.0 + rest.abs()), "{} {rest}", energy(&unturned));
    }
}
