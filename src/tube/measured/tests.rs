//! Pipes of known shape, measured with known scatter.
#![allow(clippy::unwrap_used)]

use nalgebra::{Point3, Vector3};

use super::*;
use crate::tube::tests::Dice;
use crate::tube::{BendList, ListedBend};

fn normal(dice: &mut Dice) -> f64 {
    // Box and Muller.
    let (u, v) = (dice.between(1e-12, 1.0), dice.between(0.0, std::f64::consts::TAU));
    (-2.0 * u.ln()).sqrt() * v.cos()
}

/// Straights of 60 to 250 mm, 1 to 4 bends of 25 to 150 deg; 4 points a straight, 6 a bend.
fn pipe(dice: &mut Dice) -> (BendList, Vec<Point3<f64>>) {
    let bends = (0..1 + dice.between(0.0, 4.0) as usize)
        .map(|_| ListedBend {
            straight_mm: dice.between(60.0, 250.0),
            rotation_rad: dice.between(-3.0, 3.0),
            angle_rad: dice.between(25.0f64, 145.0).to_radians(),
            radius_mm: dice.between(60.0, 130.0),
        })
        .collect();
    let list = BendList { start: dice.pose(500.0), bends, last_straight_mm: dice.between(60.0, 250.0) };
    let line = list.centreline().unwrap();
    let mut points = Vec::new();
    for leg in &line.legs {
        let (count, from, to) = match leg {
            crate::solid::Leg::Straight { .. } => (4, 0.02, 0.98),
            crate::solid::Leg::Bend(_) => (6, 0.08, 0.92),
        };
        points.extend((0..count).map(|i| {
            leg.point_at(leg.length_mm() * (from + (to - from) * f64::from(i) / f64::from(count - 1)))
        }));
    }
    (list, points)
}

#[test]
fn exact_points_give_the_pipe_back() {
    let mut dice = Dice(3);
    for case in 0..60 {
        let (list, points) = pipe(&mut dice);
        let fitted =
            fit_measured(&points, &MeasuredOptions { sigma_mm: 0.01, ..Default::default() }).unwrap();
        let got = fitted.line.bend_list().unwrap();
        assert_eq!(got.bends.len(), list.bends.len(), "case {case}");
        for (got, want) in got.bends.iter().zip(&list.bends) {
            assert!((got.radius_mm - want.radius_mm).abs() < 1e-3, "case {case}: {got:?} {want:?}");
            assert!((got.angle_rad - want.angle_rad).abs() < 1e-5, "case {case}: {got:?} {want:?}");
        }
        assert!(fitted.residuals_mm.iter().all(|mm| *mm < 1e-4), "case {case}");
    }
}

#[test]
fn scattered_points_give_the_pipe_within_what_is_stated() {
    let mut dice = Dice(5);
    let sigma = 0.4;
    let (mut right_count, mut total) = (0, 0);
    let (mut pulls, mut rms) = (Vec::new(), Vec::new());
    for _ in 0..100 {
        let (list, points) = pipe(&mut dice);
        let points: Vec<Point3<f64>> =
            points.iter().map(|p| p + Vector3::from_fn(|_, _| normal(&mut dice)) * sigma).collect();
        total += 1;
        let Ok(fitted) = fit_measured(&points, &MeasuredOptions { sigma_mm: sigma, ..Default::default() })
        else {
            continue;
        };
        if fitted.line.radii_mm.len() != list.bends.len() {
            continue;
        }
        right_count += 1;
        rms.push(fitted.rms_mm.unwrap());
        for ((radius, told), want) in
            fitted.line.radii_mm.iter().zip(&fitted.radius_sigma_mm).zip(&list.bends)
        {
            pulls.push((radius - want.radius_mm) / told.unwrap());
        }
    }
    let mean_rms = rms.iter().sum::<f64>() / rms.len() as f64;
    let inside = pulls.iter().filter(|pull| pull.abs() < 2.0).count() as f64 / pulls.len() as f64;
    println!(
        "{right_count} of {total} with the right bends; rms {mean_rms}; {inside} of radii within 2 sigma"
    );
    assert!(right_count >= 85, "{right_count} of {total} have the right number of bends");
    assert!((mean_rms - sigma).abs() < 0.05, "{mean_rms}");
    assert!(inside > 0.85, "{inside} of the radii within twice their stated sigma");
}

#[test]
fn a_corner_without_points_needs_its_radius() {
    let points: Vec<Point3<f64>> = [0.0, 50.0, 100.0]
        .iter()
        .map(|x| Point3::new(*x, 0.0, 0.0))
        .chain([100.0, 150.0, 200.0].iter().map(|y| Point3::new(200.0, *y, 0.0)))
        .collect();
    let error = fit_measured(&points, &MeasuredOptions::default()).unwrap_err();
    assert_eq!(
        error.to_string(),
        "the pipe turns between points 3 and 4, and too few points lie on that bend to tell its radius; \
         measure three or more points on the bend, or give its radius"
    );
    let options = MeasuredOptions { unmeasured_radius_mm: Some(76.2), ..Default::default() };
    let fitted = fit_measured(&points, &options).unwrap();
    assert!((fitted.line.points[1] - Point3::new(200.0, 0.0, 0.0)).norm() < 1e-6);
    assert_eq!((fitted.line.radii_mm[0], fitted.radius_sigma_mm[0]), (76.2, None));
}

#[test]
fn a_straight_pipe_and_too_little() {
    let straight: Vec<Point3<f64>> = (0..7).map(|i| Point3::new(40.0 * f64::from(i), 3.0, 1.0)).collect();
    let fitted = fit_measured(&straight, &MeasuredOptions::default()).unwrap();
    assert_eq!(fitted.line.points.len(), 2);
    assert!(fit_measured(&straight[..1], &MeasuredOptions::default()).is_err());
    let same = [straight[0], straight[0], straight[1]];
    assert!(fit_measured(&same, &MeasuredOptions::default()).is_err());
}
