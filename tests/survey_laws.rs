//! What holds for every fit, wherever the bay stands.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use baywright::space::Direction;
use baywright::space::Pose;
use baywright::survey::{
    BoxOptions, Reading, fit_box_with, fit_circle, fit_cone, fit_cylinder, fit_line, fit_plane, fit_sphere,
};
use nalgebra::{Point3, UnitQuaternion, Vector3};
use proptest::prelude::*;

fn any_pose() -> impl Strategy<Value = Pose> {
    (prop::array::uniform3(-2000.0..2000.0f64), prop::array::uniform3(-3.0..3.0f64)).prop_map(|(at, turn)| {
        Pose::from_parts(Vector3::from(at).into(), UnitQuaternion::from_scaled_axis(Vector3::from(turn)))
    })
}

/// Scatter for up to 24 readings, mm.
fn any_scatter() -> impl Strategy<Value = Vec<[f64; 3]>> {
    prop::collection::vec(prop::array::uniform3(-0.4..0.4f64), 24)
}

fn readings(scatter: &[[f64; 3]], count: usize, surface: impl Fn(usize) -> Point3<f64>) -> Vec<Reading> {
    (0..count)
        .map(|i| {
            Reading::new(format!("P{i}"), surface(i) + Vector3::from(scatter[i]), 0.2 + 0.02 * (i % 4) as f64)
        })
        .collect()
}

fn moved(readings: &[Reading], pose: &Pose) -> Vec<Reading> {
    readings.iter().map(|r| Reading { point: pose * r.point, ..r.clone() }).collect()
}

fn on_ring(i: usize, radius: f64, along: f64) -> Point3<f64> {
    let angle = 0.9 * i as f64;
    Point3::new(radius * angle.cos(), radius * angle.sin(), along)
}

macro_rules! same_residuals {
    ($here:expr, $there:expr) => {
        for (a, b) in $here.quality.residuals.iter().zip(&$there.quality.residuals) {
            prop_assert!(
                (a.residual_mm - b.residual_mm).abs() < 1e-7,
                "{}: {} and {}",
                a.name,
                a.residual_mm,
                b.residual_mm
            );
        }
        prop_assert!(
            ($here.quality.chi_square - $there.quality.chi_square).abs()
                < 1e-6 * $here.quality.chi_square.max(1.0)
        );
    };
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn planes_and_lines_move_with_their_readings(pose in any_pose(), scatter in any_scatter()) {
        let set = readings(&scatter, 12, |i| Point3::new(60.0 * (i % 4) as f64, 45.0 * (i / 4) as f64, 0.0));
        let here = fit_plane(&set).unwrap();
        let there = fit_plane(&moved(&set, &pose)).unwrap().facing(&(pose * here.normal));
        same_residuals!(here, there);
        prop_assert!((pose * here.point - there.point).norm() < 1e-7);
        prop_assert!((here.covariance[(0, 0)] / there.covariance[(0, 0)] - 1.0).abs() < 1e-6);
        let set = readings(&scatter, 8, |i| Point3::new(40.0 * i as f64, 0.0, 10.0));
        let (here, there) = (fit_line(&set).unwrap(), fit_line(&moved(&set, &pose)).unwrap());
        same_residuals!(here, there);
        prop_assert!((pose * here.direction).cross(&there.direction).norm() < 1e-9);
    }

    #[test]
    fn round_things_move_with_their_readings(pose in any_pose(), scatter in any_scatter()) {
        let set = readings(&scatter, 10, |i| on_ring(i, 45.0, 0.0));
        let (here, there) = (fit_circle(&set).unwrap(), fit_circle(&moved(&set, &pose)).unwrap());
        same_residuals!(here, there);
        prop_assert!((here.radius_mm - there.radius_mm).abs() < 1e-7);
        prop_assert!((pose * here.center - there.center).norm() < 1e-6);
        let set = readings(&scatter, 14, |i| {
            let up = (i as f64 / 14.0) * 1.6 - 0.8;
            on_ring(i, 50.0 * (1.0 - up * up).sqrt(), 50.0 * up)
        });
        let (here, there) = (fit_sphere(&set).unwrap(), fit_sphere(&moved(&set, &pose)).unwrap());
        same_residuals!(here, there);
        prop_assert!((here.radius_mm - there.radius_mm).abs() < 1e-7);
        prop_assert!((here.covariance[(3, 3)] / there.covariance[(3, 3)] - 1.0).abs() < 1e-5);
        let set = readings(&scatter, 18, |i| on_ring(i, 30.0, 35.0 * (i / 6) as f64));
        let (here, there) = (fit_cylinder(&set).unwrap(), fit_cylinder(&moved(&set, &pose)).unwrap());
        same_residuals!(here, there);
        prop_assert!((here.radius_mm - there.radius_mm).abs() < 1e-7);
        prop_assert!((pose * here.direction).cross(&there.direction).norm() < 1e-8);
        prop_assert!((here.placement().surface_mm / there.placement().surface_mm - 1.0).abs() < 1e-5);
        let set = readings(&scatter, 24, |i| on_ring(i, 20.0 + 12.0 * (i / 8) as f64, 40.0 * (i / 8) as f64));
        let (here, there) = (fit_cone(&set).unwrap(), fit_cone(&moved(&set, &pose)).unwrap());
        same_residuals!(here, there);
        prop_assert!((here.half_angle_rad - there.half_angle_rad).abs() < 1e-8);
    }

    #[test]
    fn boxes_move_with_their_readings(at in prop::array::uniform3(-2000.0..2000.0f64), turn in prop::array::uniform3(-0.3..0.3f64), scatter in any_scatter()) {
        let pose = Pose::from_parts(Vector3::from(at).into(), UnitQuaternion::from_scaled_axis(Vector3::from(turn)));
        let half = [120.0, 80.0, 95.0];
        let face = |i: usize| Direction::ALL[i % 6];
        let set = readings(&scatter, 24, |i| {
            let (axis, sign) = ((i % 6) / 2, if i % 2 == 0 { -1.0 } else { 1.0 });
            let mut p = Vector3::from_fn(|k, _| half[k] * 0.7 * ((i * 7 + k * 5) as f64).sin());
            p[axis] = sign * half[axis];
            p.into()
        });
        let options = BoxOptions {
            faces: (0..24).map(|i| (format!("P{i}"), vec![face(i)])).collect(),
            ..BoxOptions::default()
        };
        let here = fit_box_with(&set, &options).unwrap();
        let there = fit_box_with(&moved(&set, &pose), &options).unwrap();
        same_residuals!(here, there);
        prop_assert!((here.size_mm - there.size_mm).norm() < 1e-7);
        let center = pose * Point3::from(here.pose.translation.vector);
        prop_assert!((center - Point3::from(there.pose.translation.vector)).norm() < 1e-6);
    }

    #[test]
    fn finer_readings_never_make_a_feature_less_certain(scatter in any_scatter(), factor in 0.1..0.99f64) {
        let set = readings(&scatter, 18, |i| on_ring(i, 30.0, 35.0 * (i / 6) as f64));
        let coarse: Vec<Reading> = set.iter().map(|r| Reading { sigma_mm: 2.0, ..r.clone() }).collect();
        let fine: Vec<Reading> = set.iter().map(|r| Reading { sigma_mm: 2.0 * factor, ..r.clone() }).collect();
        let (coarse, fine) = (fit_cylinder(&coarse).unwrap(), fit_cylinder(&fine).unwrap());
        prop_assert!(fine.covariance[(4, 4)] <= coarse.covariance[(4, 4)] * (1.0 + 1e-9));
    }
}
