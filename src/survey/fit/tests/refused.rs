//! What is too little or too ambiguous is refused, with the cure.

use nalgebra::{Point3, Unit, UnitQuaternion, Vector3};

use super::super::*;
use super::sample::*;
use crate::survey::test_noise::Noise;

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
