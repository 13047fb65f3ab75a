//! Random fits of every kind of feature.

use baywright::survey::{
    FitError, FitOptions, FitQuality, Reading, fit_bent_tube, fit_bolt_pattern, fit_circle, fit_cone_with,
    fit_cylinder_with, fit_line, fit_plane, fit_slot, fit_sphere, fit_torus_with,
};
use nalgebra::{DMatrix, Point3, Unit, Vector3};
use serde_json::{Value, json};

use super::dice::Dice;

/// The kinds, by the names that the judge knows.
pub const KINDS: [&str; 10] =
    ["plane", "sphere", "cylinder", "line", "circle", "cone", "slot", "bolt pattern", "bent tube", "torus"];

/// Our answer: a frame, sizes, and the covariance of small moves of that frame and sizes.
struct Answer {
    origin: Point3<f64>,
    axes: [Vector3<f64>; 3],
    sizes: Vec<f64>,
    covariance: DMatrix<f64>,
    quality: FitQuality,
    /// Hole of each reading.
    holes: Vec<usize>,
}

/// One case: the readings, the truth that they scatter about, and our answer, each as a frame with sizes; `None` when the
/// fit was refused (a cone's taper that the readings cannot tell from none, say).
pub fn case(dice: &mut Dice, number: usize) -> Option<Value> {
    let kind = KINDS[number % KINDS.len()];
    let sigma = dice.between(0.05, 1.0);
    let place = dice.pose(800.0);
    let (sizes, points, count_of_legs) = truth(dice, kind);
    let readings: Vec<Reading> = points
        .iter()
        .enumerate()
        .map(|(at, point)| {
            let noise = Vector3::from_fn(|_, _| dice.normal() * sigma);
            Reading { name: format!("R{at}"), point: place * point + noise, sigma_mm: sigma }
        })
        .collect();
    let axes: [Vector3<f64>; 3] = std::array::from_fn(|k| place.rotation * Vector3::ith(k, 1.0));
    // A tube's sizes are its corners and its radius; they stand where the tube does.
    let sizes = if kind == "bent tube" {
        let corners = sizes[..sizes.len() - 1].chunks(3).map(|c| place * Point3::new(c[0], c[1], c[2]));
        corners.flat_map(|c| [c.x, c.y, c.z]).chain(sizes.last().copied()).collect()
    } else {
        sizes
    };
    let answer = match answer(kind, &readings, &axes, sizes.len(), &count_of_legs) {
        Ok(answer) => answer,
        Err(FitError::Degenerate { .. }) => return None,
        Err(other) => panic!("{kind}, case {number}: {other}\n{readings:?}"),
    };
    let holes = if answer.holes.is_empty() { Vec::new() } else { answer.holes };
    let frame = |origin: &Vector3<f64>, axes: &[Vector3<f64>; 3], sizes: &[f64]| json!({"origin": origin.as_slice(), "axes": axes.map(|a| [a.x, a.y, a.z]), "sizes": sizes});
    let points: Vec<[f64; 3]> = readings.iter().map(|r| [r.point.x, r.point.y, r.point.z]).collect();
    let rows: Vec<Vec<f64>> = answer.covariance.row_iter().map(|row| row.iter().copied().collect()).collect();
    Some(json!({
        "case": number, "kind": kind, "points": points, "sigma": sigma, "legs": count_of_legs, "holes": holes,
        "truth": frame(&place.translation.vector, &axes, &sizes),
        "answer": frame(&answer.origin.coords, &answer.axes, &answer.sizes),
        "covariance": rows, "factor": answer.quality.scaling.factor(),
    }))
}

/// Sizes, points on the feature in its own frame, and for a tube how many of them are on each leg.
fn truth(dice: &mut Dice, kind: &str) -> (Vec<f64>, Vec<Point3<f64>>, Vec<usize>) {
    let count = 10 + dice.choice(18);
    let radius = dice.between(15.0, 120.0);
    let tan = dice.between(0.2, 0.9);
    let (half, width) = (dice.between(8.0, 40.0), dice.between(4.0, 15.0));
    let mut legs = Vec::new();
    let mut sizes = match kind {
        "plane" | "line" => vec![],
        "cone" => vec![radius, f64::atan(tan)],
        "slot" => vec![half, width],
        "torus" => vec![radius * dice.between(1.5, 5.0), radius],
        _ => vec![radius],
    };
    let around = |dice: &mut Dice| dice.between(0.0, std::f64::consts::TAU);
    let points = match kind {
        "slot" => (0..count)
            .map(|at| {
                // Two on each side and three on each end at least, the rest anywhere.
                let side = if at % 2 == 0 { 1.0 } else { -1.0 };
                if at < 4 || at >= 10 && at % 4 < 2 {
                    Point3::new(dice.between(-0.9, 0.9) * half, side * width, 0.0)
                } else {
                    let a = dice.between(-1.3, 1.3);
                    Point3::new(side * (half + width * a.cos()), width * a.sin(), 0.0)
                }
            })
            .collect(),
        "bolt pattern" => {
            let holes = 4 + dice.choice(5);
            sizes.push(holes as f64);
            let spoke = |k: usize| std::f64::consts::TAU * k as f64 / holes as f64;
            (0..holes).map(|k| Point3::new(radius * spoke(k).cos(), radius * spoke(k).sin(), 0.0)).collect()
        }
        "torus" => {
            // Part of a bend, from an eighth of a turn to a whole ring, touched on part of its round or on all of it.
            let (sweep, seen) = (dice.between(0.8, 6.2), dice.between(2.5, 6.2));
            (0..count + 6)
                .map(|at| {
                    let along = sweep * (at as f64 + dice.between(0.0, 1.0)) / (count + 6) as f64;
                    let around = seen * dice.between(-0.5, 0.5);
                    let ring = sizes[0] + radius * around.cos();
                    Point3::new(ring * along.cos(), ring * along.sin(), radius * around.sin())
                })
                .collect()
        }
        "bent tube" => {
            let radius = dice.between(10.0, 40.0);
            let mut corners = vec![Point3::origin()];
            let mut heading = Vector3::x();
            for _ in 0..2 + dice.choice(2) {
                let last = corners[corners.len() - 1];
                corners.push(last + heading * dice.between(250.0, 500.0));
                // The next leg turns by 40 to 100 deg out of this one.
                let turn = dice.between(0.7, 1.75);
                let square = heading.cross(&dice.vector(1.0)).normalize();
                heading = (heading * turn.cos() + square * turn.sin()).normalize();
            }
            let mut points = Vec::new();
            for pair in corners.windows(2) {
                let d = Unit::new_normalize(pair[1] - pair[0]);
                let u = d.cross(&Vector3::ith(d.iamin(), 1.0)).normalize();
                let v = d.cross(&u);
                for k in 0..8 {
                    let (sin, cos) = (0.8 * f64::from(k) + dice.between(0.0, 0.5)).sin_cos();
                    let along = if k % 2 == 0 { dice.between(0.1, 0.3) } else { dice.between(0.7, 0.9) };
                    points.push(pair[0] + (pair[1] - pair[0]) * along + (u * cos + v * sin) * radius);
                }
                legs.push(8);
            }
            sizes = corners.iter().flat_map(|c| [c.x, c.y, c.z]).collect();
            sizes.push(radius);
            points
        }
        _ => (0..count)
            .map(|at| match kind {
                "plane" => Point3::new(dice.between(-300.0, 300.0), dice.between(-200.0, 200.0), 0.0),
                "line" => Point3::new(0.0, 0.0, dice.between(-300.0, 300.0)),
                "sphere" => Point3::from(dice.vector(1.0).normalize() * radius),
                "circle" => {
                    let a = around(dice);
                    Point3::new(radius * a.cos(), radius * a.sin(), 0.0)
                }
                _ => {
                    let (a, cone) = (around(dice), kind == "cone");
                    // The cone's tip stays well below its readings.
                    let h =
                        if cone { dice.between(-0.4, 0.9) * radius / tan } else { dice.between(-90.0, 90.0) };
                    let h = if cone && at < 4 { [-0.4, 0.9][at % 2] * radius / tan } else { h };
                    let r = if cone { radius + h * tan } else { radius };
                    Point3::new(r * a.cos(), r * a.sin(), h)
                }
            })
            .collect(),
    };
    (sizes, points, legs)
}

fn answer(
    kind: &str,
    readings: &[Reading],
    axes: &[Vector3<f64>; 3],
    sizes: usize,
    legs: &[usize],
) -> Result<Answer, FitError> {
    // A shop knows roughly which way a pipe runs; with few readings more than one may fit.
    let options = FitOptions { toward: Some(Unit::new_normalize(axes[2])), ..FitOptions::default() };
    let whole = |columns: usize, at: &dyn Fn(usize, usize) -> f64| DMatrix::from_fn(columns, columns, at);
    let world = [Vector3::x(), Vector3::y(), Vector3::z()];
    let round =
        |square: [Vector3<f64>; 2], axis: Unit<Vector3<f64>>| [square[0], square[1], axis.into_inner()];
    let made = |origin, axes, sizes, covariance, quality| Answer {
        origin,
        axes,
        sizes,
        covariance,
        quality,
        holes: Vec::new(),
    };
    Ok(match kind {
        "plane" => {
            let fit = fit_plane(readings)?;
            let axes = [fit.along.into_inner(), fit.across.into_inner(), fit.normal.into_inner()];
            made(fit.point, axes, vec![], whole(3, &|i, j| fit.covariance[(i, j)]), fit.quality)
        }
        "sphere" => {
            let fit = fit_sphere(readings)?;
            made(
                fit.center,
                world,
                vec![fit.radius_mm],
                whole(4, &|i, j| fit.covariance[(i, j)]),
                fit.quality,
            )
        }
        "cylinder" => {
            let fit = fit_cylinder_with(readings, &options)?;
            let covariance = whole(5, &|i, j| fit.covariance[(i, j)]);
            made(fit.point, round(fit.square, fit.direction), vec![fit.radius_mm], covariance, fit.quality)
        }
        "line" => {
            let fit = fit_line(readings)?;
            let covariance = whole(4, &|i, j| fit.covariance[(i, j)]);
            made(fit.point, round(fit.square, fit.direction), vec![], covariance, fit.quality)
        }
        "circle" => {
            let fit = fit_circle(readings)?;
            let covariance = whole(6, &|i, j| fit.covariance[(i, j)]);
            made(fit.center, round(fit.square, fit.normal), vec![fit.radius_mm], covariance, fit.quality)
        }
        "cone" => {
            let fit = fit_cone_with(readings, &options)?;
            let covariance = whole(6, &|i, j| fit.covariance[(i, j)]);
            let sizes = vec![fit.radius_mm, fit.half_angle_rad];
            made(fit.point, round(fit.square, fit.direction), sizes, covariance, fit.quality)
        }
        "torus" => {
            let fit = fit_torus_with(readings, &options)?;
            let covariance = whole(7, &|i, j| fit.covariance[(i, j)]);
            let sizes = vec![fit.ring_radius_mm, fit.radius_mm];
            made(fit.center, round(fit.square, fit.axis), sizes, covariance, fit.quality)
        }
        "slot" => {
            let fit = fit_slot(readings)?;
            let sizes = vec![fit.centers_apart_mm / 2.0, fit.width_mm / 2.0];
            made(fit.center, fit.axes, sizes, whole(8, &|i, j| fit.covariance[(i, j)]), fit.quality)
        }
        "bolt pattern" => {
            let fit = fit_bolt_pattern(readings, readings.len())?;
            let sizes = vec![fit.radius_mm, fit.holes as f64];
            let covariance = whole(7, &|i, j| fit.covariance[(i, j)]);
            Answer { holes: fit.hole_of, ..made(fit.center, fit.axes, sizes, covariance, fit.quality) }
        }
        _ => {
            let mut rest = readings;
            let legs: Vec<Vec<Reading>> = legs
                .iter()
                .map(|count| {
                    let (leg, others) = rest.split_at(*count);
                    rest = others;
                    leg.to_vec()
                })
                .collect();
            let fit = fit_bent_tube(&legs)?;
            let corners = fit.corners.iter().flat_map(|c| [c.x, c.y, c.z]);
            let flat: Vec<f64> = corners.chain([fit.radius_mm]).collect();
            assert_eq!(flat.len(), sizes);
            // The frame holds what the covariance of the ends is told along: two directions at each end.
            let [u, v] = fit.square_at_end(false);
            let [s, t] = fit.square_at_end(true);
            let sizes = [flat, [u, v, s, t].iter().flat_map(|d| [d.x, d.y, d.z]).collect()].concat();
            made(Point3::origin(), world, sizes, fit.covariance, fit.quality)
        }
    })
}
