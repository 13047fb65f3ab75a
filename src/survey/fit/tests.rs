#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
use nalgebra::{Point3, SymmetricEigen, Unit, UnitQuaternion, Vector3};

use super::*;
use crate::space::Direction;
use crate::survey::test_noise::Noise;

fn readings(points: &[[f64; 3]], sigma_mm: f64) -> Vec<Reading> {
    points
        .iter()
        .enumerate()
        .map(|(i, p)| Reading::new(format!("P{}", i + 1), Point3::from(*p), sigma_mm))
        .collect()
}

fn close(case: &str, got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{case}: got {got:.12}, want {want:.12} within {tolerance:e}");
}

fn residuals(quality: &FitQuality) -> Vec<f64> {
    quality.residuals.iter().map(|r| r.residual_mm).collect()
}

// Values below: scipy 1.17.1 `least_squares`, numpy 2.4.6 SVD or plain formulae, computed outside this project.

#[test]
fn circle_is_that_of_gander_golub_and_strebel() {
    // Source: BIT 34 (1994) 558-578, six points; centre (4.7398, 2.9835), radius 4.7142.
    let set = [
        [1.0, 7.0, 0.0],
        [2.0, 6.0, 0.0],
        [5.0, 8.0, 0.0],
        [7.0, 7.0, 0.0],
        [9.0, 5.0, 0.0],
        [3.0, 7.0, 0.0],
    ];
    let fit = fit_circle(&readings(&set, 0.5)).unwrap();
    close("centre x", fit.center.x, 4.739_782_4, 1e-6);
    close("centre y", fit.center.y, 2.983_532_7, 1e-6);
    close("radius", fit.radius_mm, 4.714_226_0, 1e-6);
    let squares: f64 = residuals(&fit.quality).iter().map(|r| r * r).sum();
    close("sum of squares", squares, 1.227_599_1, 1e-6);
    close("root mean square", fit.quality.rms_mm.unwrap(), 0.452_327_1, 1e-6);
}

#[test]
fn circle_through_three_points_in_space_is_exact() {
    let fit = fit_circle(&readings(&[[10.0, 0.0, 0.0], [0.0, 10.0, 0.0], [0.0, 0.0, 10.0]], 0.1)).unwrap();
    close("centre", (fit.center - Point3::new(10.0 / 3.0, 10.0 / 3.0, 10.0 / 3.0)).norm(), 0.0, 1e-9);
    close("radius, 10 root 2/3", fit.radius_mm, 10.0 * (2.0f64 / 3.0).sqrt(), 1e-9);
    close("normal", fit.normal.dot(&Vector3::new(1.0, 1.0, 1.0).normalize()), 1.0, 1e-12);
    assert_eq!(fit.quality.rms_mm, None, "three readings leave nothing to spare");
}

#[test]
fn plane_is_that_of_the_least_spread() {
    let set =
        [[0.0, 0.0, 0.1], [100.0, 0.0, -0.1], [0.0, 100.0, 0.0], [100.0, 100.0, 0.2], [50.0, 50.0, -0.2]];
    let fit = fit_plane(&readings(&set, 0.2)).unwrap();
    close("centroid", (fit.point - Point3::new(50.0, 50.0, 0.0)).norm(), 0.0, 1e-9);
    close("normal y, not the slope 0.001 of a height map", fit.normal.y, -0.001_000_008_5, 1e-8);
    close("normal z", fit.normal.z, 0.999_999_5, 1e-8);
    close("root mean square", fit.quality.rms_mm.unwrap(), 0.134_164_0, 1e-6);
    for (got, want) in
        residuals(&fit.quality).iter().zip([0.150_000_4, -0.049_999_5, -0.050_000_4, 0.149_999_5, -0.2])
    {
        close("residual", *got, want, 1e-6);
    }
    close("form: 0.15 + 0.2", fit.quality.form_mm, 0.35, 1e-6);
    assert_eq!((fit.quality.spare, fit.quality.degrees_of_freedom), (2, 2));
}

#[test]
fn line_is_that_of_the_greatest_spread() {
    let set = [[0.0, 0.0, 0.0], [10.0, 0.1, 0.0], [20.0, -0.1, 0.1], [30.0, 0.05, -0.1], [40.0, 0.0, 0.05]];
    let fit = fit_line(&readings(&set, 0.1)).unwrap();
    close("centroid", (fit.point - Point3::new(20.0, 0.01, 0.01)).norm(), 0.0, 1e-9);
    close("direction x", fit.direction.x, 0.999_999_875, 1e-9);
    close("direction y", fit.direction.y, -0.000_500_010_8, 1e-9);
    close("direction z", fit.direction.z, 0.000_000_007_8, 1e-9);
    close("sum of squares", residuals(&fit.quality).iter().map(|r| r * r).sum(), 0.043_749_994_6, 1e-9);
    close("extent", fit.extent_mm[1] - fit.extent_mm[0], 40.0, 1e-3);
}

#[test]
fn sphere_through_four_points_is_exact() {
    let fit =
        fit_sphere(&readings(&[[1.0, 2.0, 8.0], [1.0, 7.0, 3.0], [6.0, 2.0, 3.0], [1.0, 2.0, -2.0]], 0.1))
            .unwrap();
    close("centre", (fit.center - Point3::new(1.0, 2.0, 3.0)).norm(), 0.0, 1e-9);
    close("radius", fit.radius_mm, 5.0, 1e-9);
    assert_eq!(fit.quality.rms_mm, None);
}

#[test]
fn sphere_with_scatter_is_that_of_scipy() {
    let set = [
        [12.1, 0.0, 0.0],
        [-11.9, 0.0, 0.0],
        [0.0, 12.05, 0.0],
        [0.0, -12.0, 0.0],
        [0.0, 0.0, 11.95],
        [0.0, 0.0, -12.1],
    ];
    let fit = fit_sphere(&readings(&set, 0.05)).unwrap();
    close("centre", (fit.center - Point3::new(0.099_860_0, 0.025_017_8, -0.075_052_2)).norm(), 0.0, 2e-7);
    close("radius", fit.radius_mm, 12.017_116_8, 1e-6);
    close("root mean square", fit.quality.rms_mm.unwrap(), 0.011_919_6, 1e-6);
}

#[test]
fn cylinder_is_that_of_scipy() {
    let set = [
        [20.05, 0.0, 0.0],
        [0.0, 19.95, 0.0],
        [-20.02, 0.0, 0.0],
        [0.0, -19.98, 0.0],
        [14.163349, 14.163349, 60.0],
        [-14.120922, 14.120922, 60.0],
        [-14.149207, -14.149207, 60.0],
        [14.135065, -14.135065, 60.0],
    ];
    let fit = fit_cylinder(&readings(&set, 0.03)).unwrap();
    let at_zero = fit.point - fit.direction.into_inner() * (fit.point.z / fit.direction.z);
    close("axis x at z 0", at_zero.x, 0.015_024_8, 1e-6);
    close("axis y at z 0", at_zero.y, -0.014_970_8, 1e-6);
    close("direction x", fit.direction.x, -0.000_014_68, 1e-7);
    close("direction y", fit.direction.y, 0.000_249_69, 1e-7);
    close("radius", fit.radius_mm, 20.000_003_8, 1e-5);
    close("sum of squares", residuals(&fit.quality).iter().map(|r| r * r).sum(), 0.006_500_112_3, 1e-8);
    assert_eq!(fit.quality.spare, 3);
}

#[test]
fn least_numbers_are_those_of_the_free_parameters() {
    // Source: counting; the objective is that of Forbes (NPL, 1989) and Shakarji (NIST, 1998).
    let spread = |n: usize| -> Vec<Reading> {
        let mut noise = Noise::new(5);
        (0..n)
            .map(|i| {
                Reading::new(
                    format!("P{i}"),
                    Point3::new(noise.normal(), noise.normal(), noise.normal()),
                    0.001,
                )
            })
            .collect()
    };
    assert!(matches!(fit_line(&spread(1)), Err(FitError::TooFew { least: 2, given: 1, .. })));
    assert!(matches!(fit_plane(&spread(2)), Err(FitError::TooFew { least: 3, given: 2, .. })));
    assert!(matches!(fit_circle(&spread(2)), Err(FitError::TooFew { least: 3, .. })));
    assert!(matches!(fit_sphere(&spread(3)), Err(FitError::TooFew { least: 4, .. })));
    assert!(matches!(fit_cylinder(&spread(4)), Err(FitError::TooFew { least: 5, .. })));
    assert!(matches!(fit_cone(&spread(5)), Err(FitError::TooFew { least: 6, .. })));
    assert!(matches!(fit_box(&spread(8)), Err(FitError::TooFew { least: 9, .. })));
    let mut twice = spread(2);
    twice.push(twice[0].clone());
    assert!(
        matches!(fit_plane(&twice), Err(FitError::TooFew { given: 2, .. })),
        "a place read twice is one place"
    );
}

#[test]
fn readings_that_leave_a_feature_free_are_refused_with_the_cure() {
    let on_line: Vec<[f64; 3]> = (0..6).map(|i| [f64::from(i) * 50.0, f64::from(i) * 20.0, 3.0]).collect();
    let in_plane: Vec<[f64; 3]> =
        (0..8).map(|i| [f64::from(i * i) * 3.0, f64::from(i) * 20.0, 0.0]).collect();
    let ring: Vec<[f64; 3]> = (0..8)
        .map(|i| {
            let a = f64::from(i);
            [30.0 * a.cos(), 30.0 * a.sin(), 0.0]
        })
        .collect();
    for (case, error) in [
        ("plane about a line", fit_plane(&readings(&on_line, 1.0)).unwrap_err()),
        ("circle on a line", fit_circle(&readings(&on_line, 1.0)).unwrap_err()),
        ("sphere in a plane", fit_sphere(&readings(&in_plane, 1.0)).unwrap_err()),
        ("sphere on a ring, both halves fit", fit_sphere(&readings(&ring, 1.0)).unwrap_err()),
        ("cylinder on one ring", fit_cylinder(&readings(&ring, 0.1)).unwrap_err()),
        ("cone on one ring", fit_cone(&readings(&ring, 0.1)).unwrap_err()),
    ] {
        assert!(
            matches!(error, FitError::Degenerate { .. } | FitError::NotConverged { .. }),
            "{case}: {error}"
        );
    }
    let message = fit_plane(&readings(&on_line, 1.0)).unwrap_err().to_string();
    assert_eq!(
        message,
        "the readings leave the plane undecided: they lie nearly on one line, about which it could turn; \
         add a reading well off the line of `P1` and `P6`"
    );
    for (case, point, sigma) in [("no number", [f64::NAN, 0.0, 0.0], 1.0), ("no sigma", [0.0, 0.0, 0.0], 0.0)]
    {
        let mut set = readings(&in_plane, 1.0);
        set.push(Reading::new("X", Point3::from(point), sigma));
        assert!(matches!(fit_plane(&set), Err(FitError::BadReading { .. })), "{case}");
    }
}

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

/// A cylinder of radius 31 from (200, -300, 500) along a slanting direction, read from outside.
fn cylinder_readings(
    noise: &mut Noise,
    rings: usize,
    around: usize,
    arc: f64,
    sigma_mm: f64,
) -> Vec<Reading> {
    let turn = UnitQuaternion::from_euler_angles(0.4, -0.7, 0.2);
    let mut found = Vec::new();
    for ring in 0..rings {
        for k in 0..around {
            let a = arc * k as f64 / around as f64 + 0.3 * ring as f64;
            let local = Vector3::new(31.0 * a.cos(), 31.0 * a.sin(), 70.0 * ring as f64);
            let point = Point3::new(200.0, -300.0, 500.0) + turn * local + noise.vector(sigma_mm);
            found.push(Reading::new(format!("N{}", found.len() + 1), point, sigma_mm));
        }
    }
    found
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
fn too_few_readings_round_a_cylinder_are_told_apart_or_refused() {
    let mut noise = Noise::new(3);
    let five = cylinder_readings(&mut noise, 1, 5, std::f64::consts::TAU, 0.0)
        .into_iter()
        .enumerate()
        .map(|(i, mut r)| {
            r.point +=
                UnitQuaternion::from_euler_angles(0.4, -0.7, 0.2) * Vector3::new(0.0, 0.0, 20.0 * i as f64);
            r.sigma_mm = 0.2;
            r
        })
        .collect::<Vec<_>>();
    let axis = Unit::new_normalize(UnitQuaternion::from_euler_angles(0.4, -0.7, 0.2) * Vector3::z());
    match fit_cylinder(&five) {
        Err(error) => assert!(error.to_string().contains("more than one fits as well"), "{error}"),
        Ok(fit) => panic!("five readings lie on several cylinders, not only on {fit:?}"),
    }
    let options = FitOptions {
        toward: Some(Unit::new_normalize(*axis + Vector3::new(0.1, 0.0, 0.0))),
        ..FitOptions::default()
    };
    let fit = fit_cylinder_with(&five, &options).unwrap();
    close("radius by the direction given", fit.radius_mm, 31.0, 1e-6);
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

/// A box 240 by 170 by 190 about (300, -520, 700), turned; `per_face` readings on each of its faces.
fn box_readings(
    noise: &mut Noise,
    per_face: usize,
    skip: &[Direction],
    sigma_mm: f64,
) -> Vec<(Reading, Direction)> {
    let turn = UnitQuaternion::from_euler_angles(0.05, -0.08, 0.35);
    let half = Vector3::new(120.0, 85.0, 95.0);
    let mut found = Vec::new();
    for (number, face) in Direction::ALL.into_iter().enumerate() {
        if skip.contains(&face) {
            continue;
        }
        for _ in 0..per_face {
            let mut y = Vector3::from_fn(|k, _| half[k] * 0.8 * (2.0 * noise.uniform() - 1.0));
            y[number / 2] = if number % 2 == 0 { -half[number / 2] } else { half[number / 2] };
            let at = Point3::new(300.0, -520.0, 700.0) + turn * y + noise.vector(sigma_mm);
            found.push((Reading::new(format!("B{}", found.len() + 1), at, sigma_mm), face));
        }
    }
    found
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

#[test]
fn scatter_beyond_the_stated_sigma_scales_the_covariance() {
    let mut noise = Noise::new(4);
    let set: Vec<Reading> = (0..30)
        .map(|i| {
            let (x, y) = (f64::from(i % 6) * 40.0, f64::from(i / 6) * 40.0);
            Reading::new(format!("F{i}"), Point3::new(x, y, 2.0 * noise.normal()), 0.5)
        })
        .collect();
    let fit = fit_plane(&set).unwrap();
    let Scaling::ScaledUp { factor } = fit.quality.scaling else { panic!("{:?}", fit.quality.scaling) };
    assert!((3.0..5.0).contains(&factor), "2 mm of scatter is four times 0.5 mm: {factor}");
    close("offset", fit.covariance[(0, 0)].sqrt(), factor * 0.5 / 30f64.sqrt(), 1e-9);
    close("form", fit.placement().surface_mm, 0.5 * (factor * factor - 1.0).sqrt(), 1e-9);
    let fine: Vec<Reading> = set.iter().map(|r| Reading { sigma_mm: 2.0, ..r.clone() }).collect();
    let fit = fit_plane(&fine).unwrap();
    assert_eq!(fit.quality.scaling, Scaling::AsStated);
    assert_eq!(fit.placement().surface_mm, 0.0);
}

#[test]
fn a_reading_off_the_surface_is_named_with_its_size() {
    let mut noise = Noise::new(6);
    let mut set: Vec<Reading> = (0..12)
        .map(|i| {
            let (x, y) = (f64::from(i % 4) * 60.0, f64::from(i / 4) * 60.0);
            Reading::new(format!("F{i}"), Point3::new(x, y, 0.5 * noise.normal()), 0.5)
        })
        .collect();
    assert!(fit_plane(&set).unwrap().quality.suspects.is_empty());
    set[6].point.z += 25.0;
    let fit = fit_plane(&set).unwrap();
    assert_eq!(fit.quality.suspects, [6]);
    let words = fit.quality.suspect_words();
    assert!(words[0].starts_with("F6 lies 2"), "{words:?}");
}

/// Covariance by repeating a fit 300 times against the covariance stated: every variance within 25 %,
/// which is six standard deviations of a variance from 300.
fn against_repetition<const N: usize>(case: &str, mut once: impl FnMut() -> ([f64; N], [f64; N])) {
    let (mut sum, mut squares, mut stated) = ([0.0; N], [0.0; N], [0.0; N]);
    for _ in 0..300 {
        let (off, variance) = once();
        for k in 0..N {
            sum[k] += off[k];
            squares[k] += off[k] * off[k];
            stated[k] += variance[k] / 300.0;
        }
    }
    for k in 0..N {
        let seen = squares[k] / 300.0;
        let ratio = seen / stated[k];
        assert!(
            (0.75..1.25).contains(&ratio),
            "{case}, parameter {k}: seen {seen:e}, stated {:e}, mean off {:e}",
            stated[k],
            sum[k] / 300.0
        );
    }
}

#[test]
fn stated_covariance_is_that_of_repetition() {
    let mut noise = Noise::new(101);
    against_repetition("plane", || {
        let set: Vec<Reading> = (0..8)
            .map(|i| {
                let at =
                    Point3::new(f64::from(i % 4) * 90.0, f64::from(i / 4) * 70.0, 5.0) + noise.vector(0.8);
                Reading::new("F", at, 0.8)
            })
            .collect();
        let fit = fit_plane(&set).unwrap();
        let at_corner = fit.distance_mm(&Point3::new(400.0, 0.0, 5.0));
        let offset = fit.distance_mm(&Point3::new(135.0, 35.0, 5.0));
        let placed = fit.placement();
        let up = Vector3::z();
        (
            [offset, at_corner],
            [fit.covariance[(0, 0)], placed.sigma_along_mm(&Point3::new(400.0, 0.0, 5.0), &up).powi(2)],
        )
    });
    let mut noise = Noise::new(102);
    against_repetition("cylinder", || {
        let fit = fit_cylinder(&cylinder_readings(&mut noise, 3, 4, std::f64::consts::TAU, 0.3)).unwrap();
        let c = fit.covariance;
        let axis = UnitQuaternion::from_euler_angles(0.4, -0.7, 0.2);
        let truth = Point3::new(200.0, -300.0, 500.0) + axis * Vector3::new(0.0, 0.0, 70.0);
        let q = truth - fit.point;
        let w = axis * Vector3::z();
        let [u, v] = fit.square;
        (
            [-q.dot(&u), -q.dot(&v), w.dot(&v), w.dot(&u), fit.radius_mm - 31.0],
            [c[(0, 0)], c[(1, 1)], c[(2, 2)], c[(3, 3)], c[(4, 4)]],
        )
    });
    let mut noise = Noise::new(103);
    against_repetition("sphere cap, centre and radius err together", || {
        let set: Vec<Reading> = (0..14)
            .map(|i| {
                let (a, b) = (f64::from(i) * 2.4, 0.2 + 0.07 * f64::from(i));
                let out = Vector3::new(b.sin() * a.cos(), b.sin() * a.sin(), b.cos());
                Reading::new("S", Point3::from(out * 60.0 + noise.vector(0.2)), 0.2)
            })
            .collect();
        let fit = fit_sphere(&set).unwrap();
        let c = fit.covariance;
        let top = fit.center.z + fit.radius_mm - 60.0;
        (
            [fit.center.x, fit.center.z, fit.radius_mm - 60.0, top],
            [c[(0, 0)], c[(2, 2)], c[(3, 3)], c[(2, 2)] + c[(3, 3)] + 2.0 * c[(2, 3)]],
        )
    });
    // Slanted, so that the two directions square to it do not swap between repetitions.
    let slanted = UnitQuaternion::from_euler_angles(0.4, -0.7, 0.2);
    let mut noise = Noise::new(104);
    against_repetition("circle", || {
        let set: Vec<Reading> = (0..8)
            .map(|i| {
                let a = f64::from(i) * 0.5;
                let at = slanted * Point3::new(40.0 * a.cos(), 40.0 * a.sin(), 0.0);
                Reading::new("O", at + noise.vector(0.3), 0.3)
            })
            .collect();
        let fit = fit_circle(&set).unwrap();
        let c = fit.covariance;
        let [u, v] = fit.square;
        let z = slanted * Vector3::z();
        let q = fit.center.coords;
        let off = [q.dot(&u), q.dot(&v), q.dot(&fit.normal), z.dot(&v), z.dot(&u), fit.radius_mm - 40.0];
        (off, std::array::from_fn(|k| c[(k, k)]))
    });
    let mut noise = Noise::new(105);
    against_repetition("box", || {
        let named = box_readings(&mut noise, 3, &[], 0.4);
        let faces = named.iter().map(|(r, face)| (r.name.clone(), vec![*face])).collect();
        let set: Vec<Reading> = named.into_iter().map(|(r, _)| r).collect();
        let fit = fit_box_with(&set, &BoxOptions { faces, ..BoxOptions::default() }).unwrap();
        let truth = UnitQuaternion::from_euler_angles(0.05, -0.08, 0.35);
        let turn = (truth.inverse() * fit.pose.rotation).scaled_axis();
        let c = fit.covariance;
        let length = c[(3, 3)] + c[(4, 4)] + 2.0 * c[(3, 4)];
        ([turn.x, turn.y, turn.z, fit.size_mm.x - 240.0], [c[(0, 0)], c[(1, 1)], c[(2, 2)], length])
    });
    let mut noise = Noise::new(106);
    against_repetition("cone", || {
        let set: Vec<Reading> = (0..18)
            .map(|i| {
                let (h, a) = (40.0 * f64::from(i / 6), f64::from(i) * 1.05);
                let r = 25.0 + h * 0.25f64.tan();
                Reading::new("K", slanted * Point3::new(r * a.cos(), r * a.sin(), h) + noise.vector(0.1), 0.1)
            })
            .collect();
        let fit = fit_cone(&set).unwrap();
        let c = fit.covariance;
        let [u, v] = fit.square;
        let z = slanted * Vector3::z();
        let truth_radius = 25.0 + fit.point.coords.dot(&z) * 0.25f64.tan();
        (
            [z.dot(&v), z.dot(&u), fit.radius_mm - truth_radius, fit.half_angle_rad - 0.25],
            [c[(2, 2)], c[(3, 3)], c[(4, 4)], c[(5, 5)]],
        )
    });
}

#[test]
fn shared_errors_of_the_readings_do_not_average_out() {
    let set = readings(&[[0.0, 0.0, 0.0], [300.0, 0.0, 0.0], [0.0, 300.0, 0.0], [300.0, 300.0, 0.0]], 0.5);
    // Own scatter of 0.5 mm, and 2 mm up or down that all four share.
    let joint = nalgebra::DMatrix::from_fn(12, 12, |i, j| {
        (if i == j { 0.25 } else { 0.0 }) + (if i % 3 == 2 && j % 3 == 2 { 4.0 } else { 0.0 })
    });
    let options = FitOptions { reading_covariance: Some(joint), ..FitOptions::default() };
    let fit = fit_plane_with(&set, &options).unwrap();
    close("offset: 0.25/4 own, 4 shared", fit.covariance[(0, 0)], 4.0625, 1e-9);
    let alone = fit_plane(&set).unwrap();
    close("tilt: what is shared does not tilt", fit.covariance[(1, 1)], alone.covariance[(1, 1)], 1e-12);
}

#[test]
fn placement_covariances_are_positive() {
    let mut noise = Noise::new(55);
    let cylinder = fit_cylinder(&cylinder_readings(&mut noise, 2, 5, 3.0, 0.2)).unwrap().placement();
    let set: Vec<Reading> = box_readings(&mut noise, 3, &[], 0.4).into_iter().map(|(r, _)| r).collect();
    let cuboid = fit_box(&set).unwrap().placement();
    for (case, placement) in [("cylinder", cylinder), ("box", cuboid)] {
        let least = SymmetricEigen::new(placement.covariance).eigenvalues.min();
        assert!(least > -1e-12, "{case}: {least}");
        assert!(placement.surface_mm > 0.0, "{case}");
    }
}
