//! Tori: exact touches, the truth found again, the covariance by repetition, and what is refused.

use nalgebra::{Isometry3, Point3, Translation3, UnitQuaternion, Vector3};

use super::super::*;
use crate::survey::test_noise::Noise;

fn place() -> Isometry3<f64> {
    let turn = UnitQuaternion::from_euler_angles(0.4, -0.7, 1.9);
    Isometry3::from_parts(Translation3::new(300.0, -520.0, 640.0), turn)
}

/// A pipe of 25 mm radius bent at 90 mm: so many places over the sweep, four round it at each.
fn bend(noise: &mut Noise, places: usize, sweep_rad: f64, sigma: f64) -> Vec<Reading> {
    (0..4 * places)
        .map(|k| {
            let along = sweep_rad * (k / 4) as f64 / (places - 1) as f64;
            let round = 1.5 * (k % 4) as f64 + 0.4 * (k / 4) as f64;
            let ring = 90.0 + 25.0 * round.cos();
            let at = Point3::new(ring * along.cos(), ring * along.sin(), 25.0 * round.sin());
            Reading::new(format!("T{k}"), place() * at + noise.vector(sigma), sigma.max(0.01))
        })
        .collect()
}

#[test]
fn exact_touches_give_the_bend() {
    let mut noise = Noise::new(1);
    for (case, places, sweep) in [
        ("a quarter turn", 4, 1.57),
        ("an eighth", 4, 0.785),
        ("half a turn", 5, 3.1),
        ("nearly a ring", 9, 5.5),
    ] {
        let fit = fit_torus(&bend(&mut noise, places, sweep, 0.0)).unwrap();
        assert!((fit.ring_radius_mm - 90.0).abs() < 1e-6, "{case}: {}", fit.ring_radius_mm);
        assert!((fit.radius_mm - 25.0).abs() < 1e-6, "{case}: {}", fit.radius_mm);
        assert!((fit.center - place() * Point3::origin()).norm() < 1e-6, "{case}");
        assert!((fit.arc_rad[1] - sweep).abs() < 1e-6, "{case}: {:?}", fit.arc_rad);
        let ends = [fit.arc_rad[0], fit.arc_rad[0] + sweep].map(|a| fit.center + fit.spoke(a) * 90.0);
        let first = place() * Point3::new(90.0, 0.0, 0.0);
        assert!(ends.iter().any(|end| (end - first).norm() < 1e-5), "{case}: {ends:?}");
    }
}

/// 200 noisy quarter turns: errors of both radii against what is stated (a mean square of 200 normal values strays by a
/// tenth, so 0.7 to 1.35 is three deviations and more), and those of the pipe's surface against the placement, which covers them
/// at both ends and the middle and is not twice as careful as it need be.
#[test]
fn what_is_stated_is_the_spread_of_many_bends() {
    let mut noise = Noise::new(7);
    let (mut ring, mut radius) = (0.0, 0.0);
    let (mut off, mut stated) = ([0.0; 3], [0.0; 3]);
    let count = 200;
    for _ in 0..count {
        let fit = fit_torus(&bend(&mut noise, 5, 1.6, 0.3)).unwrap();
        ring += (fit.ring_radius_mm - 90.0).powi(2) / fit.covariance[(5, 5)];
        radius += (fit.radius_mm - 25.0).powi(2) / fit.covariance[(6, 6)];
        let placement = fit.placement();
        for (k, along) in [0.0, 0.8, 1.6f64].into_iter().enumerate() {
            // On the outer side of the bend, how far the fitted surface lies from the true one.
            let out = Vector3::new(along.cos(), along.sin(), 0.0);
            let (at, way) = (place() * Point3::from(out * 115.0), place() * out);
            let q = at - fit.center;
            let h = q.dot(&fit.axis);
            let beyond = (q - fit.axis.into_inner() * h).norm() - fit.ring_radius_mm;
            off[k] += (beyond.hypot(h) - fit.radius_mm).powi(2);
            stated[k] += placement.sigma_along_mm(&at, &way).powi(2);
        }
    }
    for (case, share) in [("ring", ring / f64::from(count)), ("radius", radius / f64::from(count))] {
        assert!((0.7..1.35).contains(&share), "{case}: {share}");
    }
    for k in 0..3 {
        let share = off[k] / stated[k];
        assert!((0.2..1.1).contains(&share), "place {k}: {share}");
    }
}

/// A check may take place and growth together where a fit tells both, so that too must cover what the fit's own covariance
/// makes of the surface: at the places touched and all round the bar, for bends touched over part of the bar's round.
#[test]
fn what_a_check_makes_of_a_placement_covers_the_surface() {
    for (case, ring_mm, sweep_rad, round_rad) in [
        ("part of its round", 120.0, 1.57, 1.6),
        ("all round, half as far along", 120.0, 0.8, 6.0),
        ("all round, tight", 60.0, 1.57, 6.0),
    ] {
        let readings: Vec<Reading> = (0..12)
            .map(|k| {
                let along = sweep_rad * f64::from(k / 4) / 2.0;
                let round = round_rad * f64::from(k % 4) / 3.0;
                let out = ring_mm + 25.0 * round.cos();
                let at = Point3::new(out * along.cos(), out * along.sin(), 25.0 * round.sin());
                Reading::new(format!("T{k}"), at, 0.05)
            })
            .collect();
        // Which of two that fit as well is not the question here.
        let options =
            FitOptions { toward: Some(nalgebra::Unit::new_normalize(Vector3::z())), ..FitOptions::default() };
        let fit = fit_torus_with(&readings, &options).unwrap();
        let placement = fit.placement();
        let mut least = f64::INFINITY;
        for (place, side) in (0..5).flat_map(|place| (0..24).map(move |side| (place, side))) {
            let spoke = fit.spoke(fit.arc_rad[0] + fit.arc_rad[1] * f64::from(place) / 4.0);
            let (sin, cos) = (std::f64::consts::TAU * f64::from(side) / 24.0).sin_cos();
            let axis = fit.axis.into_inner();
            let way = spoke * cos + axis * sin;
            let from_center = spoke * fit.ring_radius_mm + way * fit.radius_mm;
            // Along the normal, by shift, turn about the two squares, ring radius and bar radius.
            let turned = |about: &Vector3<f64>| about.cross(&from_center).dot(&way);
            let slopes = nalgebra::SVector::<f64, 7>::from([
                fit.square[0].dot(&way),
                fit.square[1].dot(&way),
                axis.dot(&way),
                turned(&fit.square[0]),
                turned(&fit.square[1]),
                cos,
                1.0,
            ]);
            let truth = slopes.dot(&(fit.covariance * slopes));
            let at = fit.center + from_center;
            let worst = placement.sigma_along_mm(&at, &way).powi(2);
            let told = placement.growth.as_ref().map_or(worst, |growth| {
                let turn = (at - placement.about).cross(&way);
                let by = nalgebra::Vector6::new(way.x, way.y, way.z, turn.x, turn.y, turn.z);
                let together =
                    by.dot(&(placement.covariance * by)) + 2.0 * by.dot(&growth.with_moves) + growth.variance;
                worst.min(together + growth.form_mm.powi(2))
            });
            least = least.min(told / truth);
        }
        assert!(least > 1.0 - 1e-6, "{case}: {least}");
    }
}

#[test]
fn a_known_diameter_needs_six_touches_and_a_tip_is_taken_off() {
    let mut noise = Noise::new(3);
    let all = bend(&mut noise, 3, 1.5, 0.0);
    let some: Vec<Reading> = [0, 2, 5, 6, 8, 11].map(|k| all[k].clone()).to_vec();
    let error = fit_torus(&some).unwrap_err().to_string();
    assert!(error.contains("7"), "{error}");
    let options = FitOptions {
        known_radius_mm: Some((25.0, 0.01)),
        toward: Some(nalgebra::Unit::new_normalize(place() * Vector3::z())),
        ..FitOptions::default()
    };
    let fit = fit_torus_with(&some, &options).unwrap();
    assert!((fit.ring_radius_mm - 90.0).abs() < 1e-4, "{}", fit.ring_radius_mm);
    let tip =
        FitOptions { tip: Tip::Ball { radius_mm: 1.5, side: ProbeSide::Outside }, ..FitOptions::default() };
    let fit = fit_torus_with(&bend(&mut noise, 4, 1.57, 0.0), &tip).unwrap();
    assert!((fit.radius_mm - 23.5).abs() < 1e-6, "{}", fit.radius_mm);
}

#[test]
fn what_is_no_bend_is_refused_with_a_cure() {
    let mut noise = Noise::new(9);
    let straight: Vec<Reading> = (0..16)
        .map(|k| {
            let (round, z) = (1.6 * f64::from(k), 20.0 * f64::from(k / 4));
            let at = Point3::new(25.0 * round.cos(), 25.0 * round.sin(), z) + noise.vector(0.2);
            Reading::new(format!("S{k}"), at, 0.2)
        })
        .collect();
    let error = fit_torus(&straight).map(|fit| fit.ring_radius_mm).unwrap_err().to_string();
    assert!(error.contains("bend of far greater radius") && error.contains("fit a cylinder"), "{error}");
}
