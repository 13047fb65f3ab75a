//! Any points: a hull that holds them all, or an error, never a panic.
#![no_main]

use baywright_lower::solid::{Hull, Solid};
use libfuzzer_sys::fuzz_target;
use nalgebra::Point3;

fuzz_target!(|bytes: &[u8]| {
    // Small whole numbers fall together, on lines and in planes all the time.
    let points: Vec<Point3<f64>> = bytes
        .chunks_exact(3)
        .map(|at| Point3::new(f64::from(at[0] as i8), f64::from(at[1] as i8), f64::from(at[2] as i8)))
        .collect();
    let hull = Hull::new(points.clone());
    if hull.validate().is_ok() {
        for point in &points {
            assert!(hull.closest(point).distance_mm < 1e-6);
        }
    }
});
