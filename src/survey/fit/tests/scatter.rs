//! Scatter: what is said of it, and whether the stated covariance is that of repetition.

use nalgebra::{Point3, SymmetricEigen, UnitQuaternion, Vector3};

use super::super::*;
use super::sample::*;
use crate::survey::test_noise::Noise;

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
