//! One gross error among few touches: it is named, or it is told that something is wrong; a sound touch is never blamed instead.

use nalgebra::{Point3, Vector3};

use super::super::*;
use crate::survey::test_noise::Noise;

const SIGMA: f64 = 0.5;

/// What became of a gross error.
#[derive(Debug, PartialEq)]
enum Outcome {
    /// It was left out, and nothing else.
    Named,
    /// Nothing was left out, but the scatter or a suspect says that something is wrong, or the fit was refused.
    Told,
    /// Nothing is said.
    Silent,
    /// Something else was left out.
    Blamed,
}

fn outcome<F: Fitted>(found: Result<LeftOut<F>, FitError>, gross: &str) -> Outcome {
    let Ok(found) = found else { return Outcome::Told };
    let names: Vec<&str> = found.left_out.iter().map(|(name, _)| name.as_str()).collect();
    let quality = found.fit.quality();
    match names[..] {
        [name] if name == gross => Outcome::Named,
        [] if quality.scaling.factor() > 1.0 || !quality.suspects.is_empty() => Outcome::Told,
        [] => Outcome::Silent,
        // Sound touches went, and what is left is still told to be ill.
        _ if quality.scaling.factor() > 1.0 || !quality.suspects.is_empty() => Outcome::Told,
        _ => Outcome::Blamed,
    }
}

/// Sound touches of a shape of radius 40, with the way out of it at each.
fn touches(noise: &mut Noise, kind: &str, count: usize) -> Vec<(Point3<f64>, Vector3<f64>)> {
    (0..count)
        .map(|k| {
            let around = std::f64::consts::TAU * (k as f64 + 0.5 * noise.uniform()) / count as f64;
            let (u, v) = (noise.uniform() - 0.5, noise.uniform() - 0.5);
            let ring = Vector3::new(around.cos(), around.sin(), 0.0);
            let (at, out) = match kind {
                "plane" => (Point3::new(200.0 * u, 200.0 * v, 0.0), Vector3::z()),
                "sphere" => {
                    let out = Vector3::new(noise.normal(), noise.normal(), noise.normal()).normalize();
                    (Point3::from(out * 40.0), out)
                }
                _ => {
                    let z = if k % 2 == 0 { -60.0 } else { 60.0 } + 20.0 * u;
                    (Point3::from(ring * 40.0) + Vector3::z() * z, ring)
                }
            };
            (at + out * (SIGMA * noise.normal()), out)
        })
        .collect()
}

#[test]
fn a_gross_error_among_few_touches_is_named_or_told() {
    let mut noise = Noise::new(41);
    let mut lines = Vec::new();
    for (kind, count) in
        [("plane", 5), ("plane", 7), ("sphere", 6), ("sphere", 8), ("cylinder", 8), ("cylinder", 10)]
    {
        for size in [10.0, 40.0, 300.0] {
            let mut counts = [0; 4];
            for _ in 0..100 {
                let mut read: Vec<Reading> = touches(&mut noise, kind, count)
                    .into_iter()
                    .enumerate()
                    .map(|(k, (at, out))| {
                        // Half of them too far in.
                        let off = if k > 0 {
                            0.0
                        } else if noise.uniform() < 0.5 {
                            size
                        } else {
                            -size
                        };
                        Reading::new(format!("T{k}"), at + out * (off * SIGMA), SIGMA)
                    })
                    .collect();
                read.rotate_left((noise.uniform() * count as f64) as usize);
                let toward = FitOptions { toward: Some(Vector3::z_axis()), ..FitOptions::default() };
                let found = match kind {
                    "plane" => outcome(fit_leaving_out(&read, fit_plane), "T0"),
                    "sphere" => outcome(fit_leaving_out(&read, fit_sphere), "T0"),
                    _ => outcome(fit_leaving_out(&read, |some| fit_cylinder_with(some, &toward)), "T0"),
                };
                counts[found as usize] += 1;
            }
            lines.push(format!(
                "{kind}, {count} touches, {size} sigma: named, told, silent, blamed {counts:?}"
            ));
        }
    }
    eprintln!("{}", lines.join("\n"));
}

/// Touches that carry one name: the size told is that of the one left out, not of the first so called.
#[test]
fn the_size_told_is_that_of_the_reading_left_out_whatever_its_name() {
    let at = |k: i32| Point3::new(f64::from(k % 3) * 100.0, f64::from(k / 3) * 100.0, 0.0);
    let mut sizes = Vec::new();
    for name in [|_: i32| "P".to_owned(), |k: i32| format!("P{k}")] {
        let mut readings: Vec<Reading> = (0..9).map(|k| Reading::new(name(k), at(k), 0.5)).collect();
        readings[5].point.z = 12.0;
        let found = fit_leaving_out(&readings, fit_plane).unwrap();
        assert_eq!(found.left_out.len(), 1);
        assert!((found.left_out[0].1 - 12.0).abs() < 0.01, "{:?}", found.left_out);
        sizes.push(found.left_out[0].1);
    }
    assert_eq!(sizes[0], sizes[1]);
}
