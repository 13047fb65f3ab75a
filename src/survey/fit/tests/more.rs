//! Cones, slots and bolt patterns: exact readings, covariances by repetition, and what is left out.
use nalgebra::{Isometry3, Point3, Translation3, UnitQuaternion, Vector3};

use super::super::*;
use crate::survey::test_noise::Noise;

fn place() -> Isometry3<f64> {
    let turn = UnitQuaternion::from_euler_angles(0.4, -0.7, 1.9);
    Isometry3::from_parts(Translation3::new(420.0, -130.0, 650.0), turn)
}

/// A pipe of 63.5 mm, touched along 300 mm and all round.
fn pipe(noise: &mut Noise, count: usize, sigma: f64) -> Vec<Reading> {
    (0..count)
        .map(|k| {
            let share = k as f64 / count as f64;
            let round = std::f64::consts::TAU * share * 3.0;
            let point = Point3::new(31.75 * round.cos(), 31.75 * round.sin(), 300.0 * (share * 7.0).fract());
            Reading::new(format!("T{k}"), place() * point + noise.vector(sigma), sigma.max(1e-3))
        })
        .collect()
}

fn slot(noise: &mut Noise, sigma: f64) -> Vec<Reading> {
    // Width 17, centres 22 apart: sides at y = +/- 8.5, ends about x = +/- 11.
    let mut points = Vec::new();
    for k in 0..4 {
        let x = -9.0 + 6.0 * f64::from(k);
        points.extend([[x, 8.5], [x, -8.5]]);
    }
    for k in 0..5 {
        let a = -1.2 + 0.6 * f64::from(k);
        points.extend([[11.0 + 8.5 * a.cos(), 8.5 * a.sin()], [-11.0 - 8.5 * a.cos(), 8.5 * a.sin()]]);
    }
    points
        .iter()
        .enumerate()
        .map(|(k, p)| {
            let point = place() * Point3::new(p[0], p[1], 0.0) + noise.vector(sigma);
            Reading::new(format!("S{k}"), point, sigma.max(1e-3))
        })
        .collect()
}

fn holes(noise: &mut Noise, sigma: f64, which: &[usize]) -> Vec<Reading> {
    which
        .iter()
        .map(|k| {
            let a = std::f64::consts::TAU * *k as f64 / 6.0;
            let point = place() * Point3::new(60.0 * a.cos(), 60.0 * a.sin(), 0.0) + noise.vector(sigma);
            Reading::new(format!("H{k}"), point, sigma.max(1e-3))
        })
        .collect()
}

#[test]
fn exact_readings_give_back_the_feature() {
    let mut noise = Noise::new(1);
    let found = fit_slot(&slot(&mut noise, 0.0)).unwrap();
    assert!((found.width_mm - 17.0).abs() < 1e-6 && (found.length_mm() - 39.0).abs() < 1e-6);
    assert!((found.center - place() * Point3::origin()).norm() < 1e-6);
    for which in [&[0, 1, 2, 3, 4, 5][..], &[2, 5, 3]] {
        let pattern = fit_bolt_pattern(&holes(&mut noise, 0.0, which), 6).unwrap();
        assert!((pattern.radius_mm - 60.0).abs() < 1e-6, "{which:?}");
        for (k, hole) in which.iter().enumerate() {
            let want = place()
                * Point3::new(
                    60.0 * (std::f64::consts::TAU * *hole as f64 / 6.0).cos(),
                    60.0 * (std::f64::consts::TAU * *hole as f64 / 6.0).sin(),
                    0.0,
                );
            assert!((pattern.hole(pattern.hole_of[k]) - want).norm() < 1e-6, "{which:?}, hole {hole}");
        }
    }
}

#[test]
fn the_tip_of_a_pattern_is_none() {
    let tip = Tip::Ball { radius_mm: 3.0, side: ProbeSide::Outside };
    let options = FitOptions { tip, ..FitOptions::default() };
    assert!(fit_bolt_pattern_with(&holes(&mut Noise::new(2), 0.0, &[0, 1, 2]), 6, &options).is_err());
}

/// Parameters' errors squared over their variance, mean over many fits: 1 when the covariance is right.
#[test]
fn covariances_are_those_of_many_fits() {
    let mut noise = Noise::new(3);
    let runs = 400;
    let mut sums = [[0.0; 2]; 2];
    for _ in 0..runs {
        let found = fit_slot(&slot(&mut noise, 0.1)).unwrap();
        sums[0][0] += (found.centers_apart_mm / 2.0 - 11.0).powi(2) / found.covariance[(6, 6)];
        sums[0][1] += (found.width_mm / 2.0 - 8.5).powi(2) / found.covariance[(7, 7)];
        let pattern = fit_bolt_pattern(&holes(&mut noise, 0.3, &[0, 1, 3, 4]), 6).unwrap();
        sums[1][0] += (pattern.radius_mm - 60.0).powi(2) / pattern.covariance[(6, 6)];
        let off = (pattern.center - place() * Point3::origin()).dot(&(place() * Vector3::z()));
        sums[1][1] += off.powi(2) / pattern.covariance[(2, 2)];
    }
    for (name, pair) in ["slot", "bolt pattern"].iter().zip(sums) {
        for mean in pair.map(|sum| sum / f64::from(runs)) {
            // The mean of 400 squares of normal numbers strays by 0.07.
            assert!((mean - 1.0).abs() < 0.25, "{name}: {mean}");
        }
    }
}

#[test]
fn what_is_none_is_refused_with_the_cure() {
    let mut noise = Noise::new(4);
    let words = |error: FitError| error.to_string();
    let round: Vec<Reading> = (0..12)
        .map(|k| {
            let a = 0.52 * f64::from(k);
            Reading::new(
                format!("R{k}"),
                Point3::new(20.0 * a.cos(), 20.0 * a.sin(), 0.0) + noise.vector(0.1),
                0.1,
            )
        })
        .collect();
    assert!(words(fit_slot(&round).unwrap_err()).ends_with("fit a circle"), "{:?}", fit_slot(&round));
    let six = holes(&mut noise, 0.0, &[0, 1, 2, 3, 4, 5]);
    assert_eq!(
        words(fit_bolt_pattern(&six, 4).unwrap_err()),
        "6 readings of a pattern of 4 holes; give the number of holes in the whole pattern, three or more, and one reading a hole"
    );
    let mut twice = holes(&mut noise, 0.0, &[0, 1, 2]);
    twice.push(Reading::new("H0b", twice[0].point + Vector3::new(0.4, 0.0, 0.0), 0.3));
    assert!(
        words(fit_bolt_pattern(&twice, 6).unwrap_err()).contains("H0 and H0b are nearest to the same hole")
    );
}

#[test]
fn two_wrong_touches_of_a_pipe_are_left_out_and_named() {
    let mut noise = Noise::new(5);
    let (mut found, mut touched) = (0, 0);
    for _ in 0..40 {
        let mut readings = pipe(&mut noise, 20, 0.2);
        let sound = fit_leaving_out(&readings, fit_cylinder).unwrap();
        touched += usize::from(!sound.left_out.is_empty());
        for (at, off_mm) in [(3, 25.0), (11, 9.0)] {
            // Straight off the pipe.
            let own = place().inverse_transform_point(&readings[at].point);
            readings[at].point += place() * Vector3::new(own.x, own.y, 0.0).normalize() * off_mm;
        }
        let Ok(cleaned) = fit_leaving_out(&readings, fit_cylinder) else { continue };
        let mut names: Vec<&str> = cleaned.left_out.iter().map(|(name, _)| name.as_str()).collect();
        names.sort_unstable();
        found += usize::from(names == ["T11", "T3"]);
    }
    assert!(found >= 34, "both wrong touches named in {found} of 40");
    assert!(touched <= 3, "something left out of {touched} of 40 sound pipes");
}
