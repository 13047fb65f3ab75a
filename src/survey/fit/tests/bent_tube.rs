//! Bent tubes and points: exact readings, stated uncertainty against many draws, and what is refused.

use nalgebra::{Matrix3, Point3, Unit, Vector3};

use super::super::{FitError, FitOptions, Reading, fit_bent_tube, fit_bent_tube_with, fit_point};
use crate::survey::test_noise::Noise;

/// Touches of each leg: two rings of `round` round it, at 25 and 75 % of it.
fn touches(
    corners: &[Point3<f64>],
    radius: f64,
    round: usize,
    sigma: f64,
    noise: &mut Noise,
) -> Vec<Vec<Reading>> {
    let legs = corners.windows(2).enumerate();
    legs.map(|(leg, pair)| {
        let d = Unit::new_normalize(pair[1] - pair[0]);
        let u = d.cross(&Vector3::ith(d.iamin(), 1.0)).normalize();
        let v = d.cross(&u);
        (0..2 * round)
            .map(|k| {
                let (sin, cos) =
                    (std::f64::consts::TAU * (k % round) as f64 / round as f64 + 0.3 * leg as f64).sin_cos();
                let along = if k < round { 0.25 } else { 0.75 };
                let at = pair[0] + (pair[1] - pair[0]) * along + (u * cos + v * sin) * radius;
                let off = if sigma > 0.0 { noise.vector(sigma) } else { Vector3::zeros() };
                Reading::new(format!("L{leg}-{k}"), at + off, sigma.max(0.1))
            })
            .collect()
    })
    .collect()
}

fn pipe() -> Vec<Point3<f64>> {
    [[0.0, 0.0, 0.0], [260.0, 20.0, 0.0], [300.0, 240.0, 90.0], [120.0, 400.0, 300.0]]
        .map(Point3::from)
        .to_vec()
}

#[test]
fn exact_touches_give_the_corners_and_the_radius() {
    let mut noise = Noise::new(1);
    let fit = fit_bent_tube(&touches(&pipe(), 31.75, 4, 0.0, &mut noise)).unwrap();
    assert!((fit.radius_mm - 31.75).abs() < 1e-7, "{}", fit.radius_mm);
    for (got, want) in fit.corners[1..3].iter().zip(&pipe()[1..3]) {
        assert!((got - want).norm() < 1e-6, "{got} {want}");
    }
    // The ends lie at the outermost touches: a quarter of the leg short of the truth.
    assert!((fit.corners[0] - (pipe()[0] + (pipe()[1] - pipe()[0]) * 0.25)).norm() < 1e-6);
    assert_eq!(fit.quality.spare, 24 - 11);
}

#[test]
fn corners_stray_as_their_covariance_says() {
    let mut noise = Noise::new(2);
    let (runs, mut squares, mut radius_squares) = (100, 0.0, 0.0);
    for _ in 0..runs {
        let fit = fit_bent_tube(&touches(&pipe(), 31.75, 4, 0.8, &mut noise)).unwrap();
        // The first inner corner has the parameters 2, 3 and 4.
        let covariance: Matrix3<f64> = fit.covariance.fixed_view::<3, 3>(2, 2).into_owned();
        let off = fit.corners[1] - pipe()[1];
        squares += off.dot(&(covariance.try_inverse().unwrap() * off)) / 3.0;
        radius_squares += (fit.radius_mm - 31.75).powi(2) / fit.covariance[(10, 10)];
    }
    // Means of 300 and 100 squared standard normals: standard deviations 0.082 and 0.14.
    let (mean, radius) = (squares / f64::from(runs), radius_squares / f64::from(runs));
    assert!((mean - 1.0).abs() < 0.25, "{mean}");
    assert!((radius - 1.0).abs() < 0.42, "{radius}");
}

/// The surface told (rigid movement and the rest) covers the movement of each corner square to the legs.
#[test]
fn the_placement_covers_every_corner() {
    let mut noise = Noise::new(3);
    let fit = fit_bent_tube(&touches(&pipe(), 31.75, 4, 0.8, &mut noise)).unwrap();
    let placement = fit.placement();
    for (k, corner) in fit.corners.iter().enumerate().take(3).skip(1) {
        let own: Matrix3<f64> =
            fit.covariance.fixed_view::<3, 3>(2 + 3 * (k - 1), 2 + 3 * (k - 1)).into_owned();
        for axis in 0..3 {
            let e = Vector3::ith(axis, 1.0);
            assert!(placement.sigma_along_mm(corner, &e) >= own[(axis, axis)].sqrt() * 0.999);
        }
    }
}

#[test]
fn a_known_diameter_needs_four_touches_a_leg_and_a_tip_is_taken_off() {
    let mut noise = Noise::new(4);
    let options = FitOptions {
        known_radius_mm: Some((28.75, 0.05)),
        tip: super::super::Tip::Ball { radius_mm: 3.0, side: super::super::ProbeSide::Outside },
        ..FitOptions::default()
    };
    let mut legs = touches(&pipe(), 31.75, 4, 0.0, &mut noise);
    for leg in &mut legs {
        // Two touches at one place, two at the other, a quarter round.
        *leg = vec![leg[0].clone(), leg[1].clone(), leg[6].clone(), leg[7].clone()];
    }
    let fit = fit_bent_tube_with(&legs, &options);
    match fit {
        Ok(fit) => {
            assert!((fit.corners[1] - pipe()[1]).norm() < 1e-5 && (fit.radius_mm - 28.75).abs() < 1e-6)
        }
        // With so few, more than one tube may fit: then it is said, not guessed.
        Err(FitError::Degenerate { why, .. }) => assert!(why.contains("more than one fits"), "{why}"),
        Err(other) => panic!("{other}"),
    }
    let legs = touches(&pipe(), 31.75, 5, 0.0, &mut noise);
    let fit = fit_bent_tube_with(&legs, &options).unwrap();
    assert!((fit.radius_mm - 28.75).abs() < 1e-6, "{}", fit.radius_mm);
}

#[test]
fn what_is_no_bent_tube_is_refused_with_a_cure() {
    let mut noise = Noise::new(5);
    let one = touches(&pipe()[..2], 20.0, 4, 0.0, &mut noise);
    let told = fit_bent_tube(&one).unwrap_err().to_string();
    assert_eq!(told, "a bent tube of 1 straight leg; give two legs or more, or fit a cylinder");
    let straight = [[0.0, 0.0, 0.0], [200.0, 0.0, 0.0], [400.0, 0.0, 0.0]].map(Point3::from);
    let told = fit_bent_tube(&touches(&straight, 20.0, 4, 0.0, &mut noise)).unwrap_err().to_string();
    assert!(
        told.contains("tell the two as one leg")
            || told.contains("could still move")
            || told.contains("settles"),
        "{told}"
    );
    let mut few = touches(&pipe(), 20.0, 4, 0.0, &mut noise);
    few[1].truncate(3);
    let told = fit_bent_tube(&few).unwrap_err().to_string();
    assert_eq!(
        told,
        "a leg of a bent tube needs at least 4 readings at different places, 3 given; take 1 more"
    );
}

#[test]
fn a_point_is_the_weighted_mean_of_its_readings() {
    let at = |x: f64, sigma: f64| Reading::new(format!("P{x}"), Point3::new(x, 0.0, 0.0), sigma);
    // Weights 1 and 1/4: (10 + 12.5 / 4) / 1.25 = 10.5, variance 1 / 1.25.
    let fit = fit_point(&[at(10.0, 1.0), at(12.5, 2.0)]).unwrap();
    assert!((fit.point.x - 10.5).abs() < 1e-12);
    assert!((fit.covariance[(0, 0)] - 0.8).abs() < 1e-12);
    assert!((fit.placement().covariance[(1, 1)] - 0.8).abs() < 1e-12);
    assert_eq!(fit.quality.spare, 1);
}
