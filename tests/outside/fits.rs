//! Random fits.

use baywright::survey::{FitOptions, Reading, fit_cylinder_with, fit_plane, fit_sphere};
use nalgebra::{Point3, Unit, Vector3};
use serde_json::{Value, json};

use super::dice::Dice;

/// One case: the readings, the truth that they scatter about, and our answer, as flat parameters
/// (plane: point, normal; sphere: centre, radius; cylinder: point, direction, radius).
pub fn case(dice: &mut Dice, number: usize) -> Value {
    let sigma = dice.between(0.05, 1.5);
    let count = 8 + dice.choice(20);
    let place = dice.pose(800.0);
    let radius = dice.between(15.0, 120.0);
    let local = |dice: &mut Dice, kind: usize| -> Point3<f64> {
        let around = dice.between(0.0, std::f64::consts::TAU);
        match kind {
            0 => Point3::new(dice.between(-300.0, 300.0), dice.between(-200.0, 200.0), 0.0),
            1 => Point3::from(dice.vector(1.0).normalize() * radius),
            _ => Point3::new(radius * around.cos(), radius * around.sin(), dice.between(-90.0, 90.0)),
        }
    };
    let kind = number % 3;
    let readings: Vec<Reading> = (0..count)
        .map(|at| {
            let noise = Vector3::from_fn(|_, _| dice.normal() * sigma);
            let point = place * local(dice, kind) + noise;
            Reading { name: format!("R{at}"), point, sigma_mm: sigma }
        })
        .collect();
    let flat = |parts: &[&[f64]]| parts.concat();
    let (origin, axis) = (place.translation.vector, place.rotation * Vector3::z());
    let (name, truth, answer) = match kind {
        0 => {
            let fit = fit_plane(&readings).unwrap();
            let answer = flat(&[fit.point.coords.as_slice(), fit.normal.as_slice()]);
            ("plane", flat(&[origin.as_slice(), axis.as_slice()]), answer)
        }
        1 => {
            let fit = fit_sphere(&readings).unwrap();
            let answer = flat(&[fit.center.coords.as_slice(), &[fit.radius_mm]]);
            ("sphere", flat(&[origin.as_slice(), &[radius]]), answer)
        }
        _ => {
            // A shop knows roughly which way a pipe runs; with few readings more than one cylinder may fit.
            let options = FitOptions { toward: Some(Unit::new_normalize(axis)), ..FitOptions::default() };
            let fit = fit_cylinder_with(&readings, &options).unwrap();
            let answer = flat(&[fit.point.coords.as_slice(), fit.direction.as_slice(), &[fit.radius_mm]]);
            ("cylinder", flat(&[origin.as_slice(), axis.as_slice(), &[radius]]), answer)
        }
    };
    let points: Vec<[f64; 3]> = readings.iter().map(|r| [r.point.x, r.point.y, r.point.z]).collect();
    json!({"case": number, "kind": name, "points": points, "sigma": sigma, "truth": truth, "answer": answer})
}
