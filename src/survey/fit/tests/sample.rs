//! Readings that several tests share.

use nalgebra::{Point3, UnitQuaternion, Vector3};

use super::super::*;
use crate::space::Direction;
use crate::survey::test_noise::Noise;

pub(super) fn readings(points: &[[f64; 3]], sigma_mm: f64) -> Vec<Reading> {
    points
        .iter()
        .enumerate()
        .map(|(i, p)| Reading::new(format!("P{}", i + 1), Point3::from(*p), sigma_mm))
        .collect()
}

pub(super) fn close(case: &str, got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{case}: got {got:.12}, want {want:.12} within {tolerance:e}");
}

pub(super) fn residuals(quality: &FitQuality) -> Vec<f64> {
    quality.residuals.iter().map(|r| r.residual_mm).collect()
}

/// A cylinder of radius 31 from (200, -300, 500) along a slanting direction, read from outside.
pub(super) fn cylinder_readings(
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

/// A box 240 by 170 by 190 about (300, -520, 700), turned; `per_face` readings on each of its faces.
pub(super) fn box_readings(
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
