//! The box that holds a box through a whole movement.

use nalgebra::{Point3, Vector3};

use super::{Freedom, Movement};
use crate::space::{Axis, Bounds};

/// Added on every side for the rounding of what is worked out here, as a share of the greatest coordinate.
const ROUNDING: f64 = 1e-12;

impl Movement {
    /// A box that holds everything in `at_rest` at every pose of the movement, mm, in the world.
    ///
    /// The least there is for a box and one freedom; with several each works on the box of those listed after it.
    pub fn swept(&self, at_rest: &Bounds) -> Bounds {
        if at_rest.is_empty() || self.freedoms.is_empty() {
            return *at_rest;
        }
        let swept = self.freedoms.iter().rev().fold(*at_rest, |held, freedom| match freedom {
            Freedom::Slide { along, from_mm, to_mm } => {
                let shifted = |by: f64| Bounds {
                    min: held.min + along.into_inner() * by,
                    max: held.max + along.into_inner() * by,
                };
                shifted(*from_mm).union(&shifted(*to_mm))
            }
            // All that a box holds is between its corners, and stays so as they turn together.
            Freedom::Turn { axis, from_rad, to_rad } => held
                .corners()
                .iter()
                .map(|corner| arc_bounds(axis, corner, (*from_rad, *to_rad)))
                .fold(Bounds::EMPTY, |all, arc| all.union(&arc)),
        });
        let greatest = swept.min.coords.amax().max(swept.max.coords.amax());
        swept.grown(ROUNDING * greatest)
    }
}

/// The least box of the arc that a point makes about an axis: its ends, and where it turns back along x, y or z.
fn arc_bounds(axis: &Axis, point: &Point3<f64>, (from_rad, to_rad): (f64, f64)) -> Bounds {
    let along = axis.along.into_inner();
    let out = point - axis.through;
    let middle = axis.through + along * along.dot(&out);
    let cosine: Vector3<f64> = point - middle;
    let sine = along.cross(&cosine);
    let at = |angle: f64| middle + cosine * angle.cos() + sine * angle.sin();
    let mut bounds = Bounds::of_points(&[at(from_rad), at(to_rad)]);
    for coordinate in 0..3 {
        let (c, s) = (cosine[coordinate], sine[coordinate]);
        let most = c.hypot(s);
        let peak = s.atan2(c);
        if passes(peak, from_rad, to_rad) {
            bounds.max[coordinate] = bounds.max[coordinate].max(middle[coordinate] + most);
        }
        if passes(peak + std::f64::consts::PI, from_rad, to_rad) {
            bounds.min[coordinate] = bounds.min[coordinate].min(middle[coordinate] - most);
        }
    }
    bounds
}

/// Whether an angle, or one whole turns from it, lies within a range.
fn passes(angle: f64, from_rad: f64, to_rad: f64) -> bool {
    const TURN: f64 = std::f64::consts::TAU;
    angle + TURN * ((from_rad - angle) / TURN).ceil() <= to_rad
}

#[cfg(test)]
mod tests {
    use nalgebra::Unit;
    use proptest::prelude::*;

    use super::*;

    fn freedom() -> impl Strategy<Value = Freedom> {
        let direction = (-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64)
            .prop_filter("has a direction", |(x, y, z)| x * x + y * y + z * z > 0.01)
            .prop_map(|(x, y, z)| Unit::new_normalize(Vector3::new(x, y, z)));
        let through = (-900.0..900.0f64, -900.0..900.0f64, -900.0..900.0f64);
        (direction, through, -4.0..0.0f64, 0.0..4.0f64, any::<bool>()).prop_map(
            |(along, (x, y, z), from, to, turns)| {
                if turns {
                    let axis = Axis { through: Point3::new(x, y, z), along };
                    Freedom::Turn { axis, from_rad: from, to_rad: to }
                } else {
                    Freedom::Slide { along, from_mm: from * 20.0, to_mm: to * 20.0 }
                }
            },
        )
    }

    proptest! {
        #[test]
        fn nothing_leaves_the_box_and_one_freedom_fills_it(
            freedoms in prop::collection::vec(freedom(), 1..4),
            (x, y, z) in (-500.0..500.0f64, -500.0..500.0f64, -500.0..500.0f64),
            (a, b, c) in (0.0..300.0f64, 0.0..300.0f64, 0.0..300.0f64),
        ) {
            let at_rest = Bounds { min: Point3::new(x, y, z), max: Point3::new(x + a, y + b, z + c) };
            let movement = Movement { freedoms };
            let swept = movement.swept(&at_rest);
            let steps = if movement.freedoms.len() == 1 { 4000 } else { 12 };
            let mut sampled = Bounds::EMPTY;
            let count = movement.freedoms.len() as u32;
            for number in 0..(steps + 1u32).pow(count) {
                let values: Vec<f64> = (0..count).zip(&movement.freedoms).map(|(digit, freedom)| {
                    let step = number / (steps + 1).pow(digit) % (steps + 1);
                    let (from, to) = freedom.range();
                    from + (to - from) * f64::from(step) / f64::from(steps)
                }).collect();
                let pose = movement.world_from_rest(&values);
                for corner in at_rest.corners() {
                    let corner = pose * corner;
                    prop_assert!(swept.contains(&corner), "{corner} leaves {swept:?} at {values:?}");
                    sampled = sampled.with(&corner);
                }
            }
            if count == 1 {
                // A point of the arc is at most an eighth of (step angle)^2 times the radius from a sampled one.
                let spare = (swept.min - sampled.min).amax().max((swept.max - sampled.max).amax());
                prop_assert!(spare < 2e-3, "{spare} mm too wide");
            }
        }
    }
}
