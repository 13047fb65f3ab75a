//! Points on a grid so coarse that which side of a plane they lie on is decided exactly.

use std::collections::BTreeSet;

use nalgebra::{Point3, Vector3};

/// Steps of the grid from zero to the largest coordinate: 2^39. Then the differences of two points
/// need 41 bits, a side of a plane three times that and three bits for its sum: under 127.
const STEPS_LOG2: i32 = 39;

/// A point of the grid, in steps.
pub(super) type Knot = [i64; 3];

/// Points rounded to a grid whose step is a power of two, so that going back to mm is exact.
#[derive(Clone, Debug)]
pub(super) struct Grid {
    step_mm: f64,
    /// Each once, sorted.
    pub(super) knots: Vec<Knot>,
}

impl Grid {
    /// Rounds finite points.
    pub(super) fn of(points: &[Point3<f64>]) -> Self {
        let largest = points.iter().map(|point| point.coords.amax()).fold(f64::MIN_POSITIVE, f64::max);
        let step_mm = 2_f64.powi((largest.log2().floor() as i32 + 1 - STEPS_LOG2).max(-1000));
        let knots: BTreeSet<Knot> = points
            .iter()
            .map(|point| std::array::from_fn(|axis| (point[axis] / step_mm).round() as i64))
            .collect();
        Grid { step_mm, knots: knots.into_iter().collect() }
    }

    /// Back to mm, exactly.
    pub(super) fn point(&self, knot: &Knot) -> Point3<f64> {
        Point3::from(knot.map(|steps| steps as f64 * self.step_mm))
    }

    pub(super) fn step_mm(&self) -> f64 {
        self.step_mm
    }
}

fn between(from: &Knot, to: &Knot) -> [i128; 3] {
    std::array::from_fn(|axis| i128::from(to[axis]) - i128::from(from[axis]))
}

/// The right-handed normal of a triangle, twice its area long, in steps; exact.
pub(super) fn normal(a: &Knot, b: &Knot, c: &Knot) -> [i128; 3] {
    let (u, v) = (between(a, b), between(a, c));
    [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]]
}

/// Above zero when `point` lies on the side of a plane to which `normal` points; exact.
pub(super) fn side(normal: &[i128; 3], on_plane: &Knot, point: &Knot) -> i128 {
    let offset = between(on_plane, point);
    normal[0] * offset[0] + normal[1] * offset[1] + normal[2] * offset[2]
}

/// A vector of steps as numbers; rounded, but its direction to full precision.
pub(super) fn rounded(vector: &[i128; 3]) -> Vector3<f64> {
    Vector3::from(vector.map(|part| part as f64))
}
