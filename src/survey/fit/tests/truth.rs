//! Truth that is found again: tips, pipes, funnels, boxes.

use nalgebra::{Point3, Unit, UnitQuaternion, Vector3};

use super::super::*;
use super::sample::*;
use crate::space::Direction;
use crate::survey::test_noise::Noise;

#[test]
fn ball_tip_is_taken_off_on_the_right_side() {
    let ball = |side| FitOptions { tip: Tip::Ball { radius_mm: 2.0, side }, ..FitOptions::default() };
    let sphere = readings(
        &[[52.0, 0.0, 0.0], [-52.0, 0.0, 0.0], [0.0, 52.0, 0.0], [0.0, -52.0, 0.0], [0.0, 0.0, 52.0]],
        0.1,
    );
    close("boss", fit_sphere_with(&sphere, &ball(ProbeSide::Outside)).unwrap().radius_mm, 50.0, 1e-9);
    close("socket", fit_sphere_with(&sphere, &ball(ProbeSide::Inside)).unwrap().radius_mm, 54.0, 1e-9);
    let flat = readings(&[[0.0, 0.0, 12.0], [100.0, 0.0, 12.0], [0.0, 100.0, 12.0], [90.0, 90.0, 12.0]], 0.1);
    for (case, toward, want) in [("from above", 1.0, 10.0), ("from below", -1.0, 14.0)] {
        let toward = Some(Unit::new_normalize(Vector3::new(0.0, 0.1, toward)));
        let fit = fit_plane_with(&flat, &FitOptions { toward, ..ball(ProbeSide::Outside) }).unwrap();
        close(case, fit.point.z, want, 1e-9);
    }
    assert!(matches!(fit_plane_with(&flat, &ball(ProbeSide::Outside)), Err(FitError::BadOption { .. })));
}

#[test]
fn cylinder_recovers_the_truth_within_four_sigma() {
    let mut noise = Noise::new(11);
    let axis = UnitQuaternion::from_euler_angles(0.4, -0.7, 0.2) * Vector3::z();
    for case in 0..30 {
        let fit = fit_cylinder(&cylinder_readings(&mut noise, 2, 5, std::f64::consts::TAU, 0.3)).unwrap();
        let radius = (fit.radius_mm - 31.0) / fit.covariance[(4, 4)].sqrt();
        assert!(radius.abs() < 4.0, "case {case}: radius {radius} sigma off");
        let tilt = fit.direction.cross(&axis).norm();
        let sigma = (fit.covariance[(2, 2)] + fit.covariance[(3, 3)]).sqrt();
        assert!(tilt < 4.0 * sigma, "case {case}: tilt {tilt}, sigma {sigma}");
        assert!(fit.quality.converged && fit.quality.spare == 5);
    }
}

#[test]
fn known_radius_places_a_pipe_read_on_one_side() {
    let mut noise = Noise::new(8);
    let set = cylinder_readings(&mut noise, 3, 4, 1.2, 0.4);
    let axis = UnitQuaternion::from_euler_angles(0.4, -0.7, 0.2) * Vector3::z();
    let options = FitOptions {
        known_radius_mm: Some((31.0, 0.1)),
        toward: Some(Unit::new_normalize(axis)),
        ..FitOptions::default()
    };
    let fit = fit_cylinder_with(&set, &options).unwrap();
    close("radius", fit.radius_mm, 31.0, 0.3);
    let center = fit.point - Point3::new(200.0, -300.0, 500.0);
    let off = (center - fit.direction.into_inner() * center.dot(&fit.direction)).norm();
    assert!(off < 4.0 * (fit.covariance[(0, 0)] + fit.covariance[(1, 1)]).sqrt(), "axis {off} mm off");
    let free = fit_cylinder_with(&set, &FitOptions { known_radius_mm: None, ..options })
        .map(|f| f.covariance[(4, 4)].sqrt());
    assert!(free.is_err() || free.is_ok_and(|s| s > 1.0), "without it the radius is hardly known");
}

#[test]
fn cone_recovers_a_funnel() {
    let mut noise = Noise::new(21);
    let turn = UnitQuaternion::from_euler_angles(-0.3, 0.5, 1.0);
    let set: Vec<Reading> = (0..24)
        .map(|i| {
            let (ring, a) = (f64::from(i / 8), f64::from(i % 8) * 0.78);
            let h = 40.0 * ring;
            let r = 20.0 + h * 0.2f64.tan();
            let at = Point3::new(10.0, 20.0, 30.0)
                + turn * Vector3::new(r * a.cos(), r * a.sin(), h)
                + noise.vector(0.05);
            Reading::new(format!("C{i}"), at, 0.05)
        })
        .collect();
    let fit = fit_cone(&set).unwrap();
    close("half angle", fit.half_angle_rad, 0.2, 4.0 * fit.covariance[(5, 5)].sqrt());
    close("toward the wide end", fit.direction.dot(&(turn * Vector3::z())), 1.0, 1e-4);
    let along = (Point3::new(10.0, 20.0, 30.0) - fit.point).dot(&fit.direction);
    close("radius at the narrow end", fit.radius_at_mm(along), 20.0, 0.2);
    let exact = cylinder_readings(&mut Noise::new(1), 3, 6, std::f64::consts::TAU, 0.05);
    let message = fit_cone(&exact).unwrap_err().to_string();
    assert!(message.contains("fit a cylinder"), "{message}");
}

#[test]
fn box_finds_its_faces_and_recovers_the_truth() {
    let mut noise = Noise::new(17);
    let truth = UnitQuaternion::from_euler_angles(0.05, -0.08, 0.35);
    for case in 0..10 {
        let named = box_readings(&mut noise, 4, &[], 0.5);
        let set: Vec<Reading> = named.iter().map(|(r, _)| r.clone()).collect();
        let fit = fit_box(&set).unwrap();
        for (found, (reading, face)) in fit.faces.iter().zip(&named) {
            assert_eq!(found, &vec![*face], "case {case}: {}", reading.name);
        }
        for (axis, want) in [240.0, 170.0, 190.0].into_iter().enumerate() {
            close("size", fit.size_mm[axis], want, 2.5);
        }
        assert!(
            fit.pose.rotation.angle_to(&truth) < 0.02,
            "case {case}: {}",
            fit.pose.rotation.angle_to(&truth)
        );
        let center = fit.pose.translation.vector - Vector3::new(300.0, -520.0, 700.0);
        assert!(center.norm() < 2.0, "case {case}: centre {center}");
        assert!(fit.quality.suspects.is_empty() || case > 0);
    }
}

#[test]
fn box_with_a_hidden_face_needs_its_size() {
    let mut noise = Noise::new(29);
    let set: Vec<Reading> =
        box_readings(&mut noise, 4, &[Direction::Down], 0.5).into_iter().map(|(r, _)| r).collect();
    let faces: Vec<(String, Vec<Direction>)> = box_readings(&mut Noise::new(29), 4, &[Direction::Down], 0.5)
        .into_iter()
        .map(|(r, face)| (r.name, vec![face]))
        .collect();
    let options = BoxOptions { faces, ..BoxOptions::default() };
    assert_eq!(
        fit_box_with(&set, &options).unwrap_err().to_string(),
        "the readings leave the box undecided: no reading lies on its face `down`; touch that face, or give the size along the box's z"
    );
    let options = BoxOptions { known_size_mm: [None, None, Some((190.0, 0.5))], ..options };
    let fit = fit_box_with(&set, &options).unwrap();
    close("known size", fit.size_mm.z, 190.0, 0.1);
    let center = fit.pose.translation.vector - Vector3::new(300.0, -520.0, 700.0);
    assert!(center.norm() < 2.0, "centre {center}");
}

#[test]
fn box_from_its_corners_by_name() {
    let turn = UnitQuaternion::from_euler_angles(0.0, 0.0, 0.6);
    let mut faces = Vec::new();
    let mut set = Vec::new();
    for corner in 0..7 {
        let sign = |bit: usize| if corner & (1 << bit) == 0 { -1.0 } else { 1.0 };
        let at = Point3::new(10.0, 20.0, 30.0)
            + turn * Vector3::new(50.0 * sign(0), 40.0 * sign(1), 30.0 * sign(2));
        let name = format!("K{corner}");
        let face = |bit: usize| Direction::ALL[2 * bit + usize::from(sign(bit) > 0.0)];
        faces.push((name.clone(), vec![face(0), face(1), face(2)]));
        set.push(Reading::new(name, at, 0.5));
    }
    let fit = fit_box_with(&set, &BoxOptions { faces: faces.clone(), ..BoxOptions::default() }).unwrap();
    close("size", (fit.size_mm - Vector3::new(100.0, 80.0, 60.0)).norm(), 0.0, 1e-8);
    close("centre", (fit.pose.translation.vector - Vector3::new(10.0, 20.0, 30.0)).norm(), 0.0, 1e-8);
    close("turn", fit.pose.rotation.angle_to(&turn), 0.0, 1e-9);
    assert_eq!(fit.quality.spare, 12, "seven corners give 21 distances for nine unknowns");
    for (_, faces) in &mut faces {
        faces[0] = if faces[0] == Direction::Forward { Direction::Rearward } else { Direction::Forward };
    }
    let swapped = fit_box_with(&set, &BoxOptions { faces, ..BoxOptions::default() }).unwrap_err().to_string();
    assert!(swapped.contains("swap the faces `forward` and `rearward`"), "{swapped}");
}
