//! How a hose's figures answer to errors of its holds: ports and clips are measured, and so is its length.

use nalgebra::{Point3, Unit, UnitQuaternion, Vector3};

use super::{Hose, HoseError, Relaxed};

/// An independent error of one standard uncertainty: how it moves a hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HoldError {
    /// Which hold: 0 is the first port, then the clips in order, then the last port.
    pub hold: usize,
    /// How far it shifts the hold, mm.
    pub shift_mm: Vector3<f64>,
    /// How it turns the way through the hold: about this axis by its length, rad.
    pub turn_rad: Vector3<f64>,
}

impl Hose {
    /// Standard uncertainties of figures of the shape at rest, from independent errors of its holds and of its length.
    ///
    /// `rest` is the shape of the hose as asked; `length_mm` the standard uncertainty of its length. Each error is tried to
    /// either side by one standard uncertainty, and the greater change of the figure counts: near a straight pull a figure
    /// changes without measure to one side and hardly to the other. The changes add by squares. Cost: two shapes an error.
    ///
    /// # Errors
    /// A hold that is off by one standard uncertainty leaves a hose without a shape, such as one that is then too short: its
    /// figures have no uncertainty that could be told.
    ///
    /// # Source
    /// JCGM 100:2008 (GUM), 5.1.3 note 2: the law of propagation by changes of one standard uncertainty (from memory). It
    /// takes half the change from side to side; here it is the greater side.
    pub fn spread<const N: usize>(
        &self,
        rest: &Relaxed,
        errors: &[HoldError],
        length_mm: f64,
        figures: impl Fn(&Relaxed) -> [f64; N],
    ) -> Result<[f64; N], HoseError> {
        let here = figures(rest);
        let mut squares = [0.0; N];
        let mut add = |one: &Hose, other: &Hose| -> Result<(), HoseError> {
            let (one, other) = (figures(&one.relaxed_from(rest)?), figures(&other.relaxed_from(rest)?));
            for at in 0..N {
                let most = (one[at] - here[at]).abs().max((other[at] - here[at]).abs());
                squares[at] += most * most;
            }
            Ok(())
        };
        for error in errors {
            add(&self.off(error, 1.0), &self.off(error, -1.0))?;
        }
        if length_mm > 0.0 {
            let as_long = |by_mm: f64| Hose { length_mm: self.length_mm + by_mm, ..self.clone() };
            add(&as_long(length_mm), &as_long(-length_mm))?;
        }
        Ok(squares.map(f64::sqrt))
    }

    /// How far off what is shown of the figures may be because a span is cut into pieces: the change of each from half as
    /// many pieces. An error that at least halves with them leaves no more than that; the tests hold arcs to it.
    ///
    /// # Errors
    /// The coarser hose has no shape.
    pub fn coarseness<const N: usize>(
        &self,
        rest: &Relaxed,
        figures: impl Fn(&Relaxed) -> [f64; N],
    ) -> Result<[f64; N], HoseError> {
        let half = Relaxed { points: rest.points.iter().step_by(2).copied().collect(), ..rest.clone() };
        let coarse = self.settled(super::ask::PIECES / 2, Some(&half))?;
        let (fine, coarse) = (figures(rest), figures(&coarse));
        Ok(std::array::from_fn(|at| (fine[at] - coarse[at]).abs()))
    }

    /// The hose with one error `times` over.
    fn off(&self, error: &HoldError, times: f64) -> Hose {
        let turn = UnitQuaternion::from_scaled_axis(error.turn_rad * times);
        let moved = |at: &mut Point3<f64>, way: &mut Unit<Vector3<f64>>| {
            *at += error.shift_mm * times;
            *way = turn * *way;
        };
        let mut off = self.clone();
        let last = off.clips.len() + 1;
        match error.hold {
            0 => moved(&mut off.from.at, &mut off.from.out),
            hold if hold >= last => moved(&mut off.to.at, &mut off.to.out),
            hold => {
                let clip = &mut off.clips[hold - 1];
                moved(&mut clip.at, &mut clip.along);
            }
        }
        off
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::f64::consts::PI;

    use super::*;
    use crate::hose::Port;

    fn half_circle(radius: f64, length: f64) -> Hose {
        Hose {
            from: Port { at: Point3::origin(), out: Vector3::x_axis() },
            to: Port { at: Point3::new(0.0, 0.0, 2.0 * radius), out: Vector3::x_axis() },
            clips: Vec::new(),
            length_mm: length,
            radius_mm: 8.0,
            stiffness_n_mm2: 5e4,
            weight_n_mm: 0.0,
            up: Vector3::z_axis(),
        }
    }

    fn error(hold: usize, shift_mm: [f64; 3]) -> HoldError {
        HoldError { hold, shift_mm: Vector3::from(shift_mm), turn_rad: Vector3::zeros() }
    }

    /// A figure that is known in closed form: the straight way between the ends. Errors of 0.3 and 0.4 mm along it add by
    /// squares to 0.5; one across it changes it by a square only.
    #[test]
    fn independent_errors_add_by_squares() {
        let asked = half_circle(100.0, PI * 100.0);
        let rest = asked.relaxed().unwrap();
        let apart = |shape: &Relaxed| [(shape.points[48] - shape.points[0]).norm()];
        let along = [error(0, [0.0, 0.0, 0.3]), error(1, [0.0, 0.0, 0.4])];
        let [found] = asked.spread(&rest, &along, 0.0, apart).unwrap();
        assert!((found - 0.5).abs() < 1e-5, "{found}");
        let [across] = asked.spread(&rest, &[error(1, [0.4, 0.0, 0.0])], 0.0, apart).unwrap();
        assert!((across - 0.4f64.powi(2) / 400.0).abs() < 1e-5, "{across}");
        // The length of the line answers to its own error and to nothing else.
        let length = |shape: &Relaxed| [shape.length_mm()];
        let [found] = asked.spread(&rest, &along, 0.7, length).unwrap();
        assert!((found - 0.7).abs() < 1e-6, "{found}");
    }

    /// A hose without weight of which all lengths are s times greater has 1 / s of the curvature everywhere, so by Euler's
    /// theorem on homogeneous functions d z dk/dz + L dk/dL = -k: what the curvature in the middle answers to the ends and to
    /// the length, each scaled by its own length, adds up to the curvature itself (or to its difference, for both are told
    /// without a sign).
    #[test]
    fn a_bend_answers_to_ends_and_length_as_scaling_says() {
        let asked = half_circle(100.0, PI * 100.0);
        let rest = asked.relaxed().unwrap();
        let middle = |shape: &Relaxed| {
            let p = &shape.points[23..26];
            let (one, two) = (p[1] - p[0], p[2] - p[1]);
            [2.0 * (one.angle(&two) / 2.0).tan() / one.norm()]
        };
        let by = 0.02;
        let [to_ends] = asked.spread(&rest, &[error(1, [0.0, 0.0, by])], 0.0, middle).unwrap();
        let [to_length] = asked.spread(&rest, &[], by, middle).unwrap();
        let (ends, length) = (to_ends / by * 200.0, to_length / by * PI * 100.0);
        let [here] = middle(&rest);
        let off = ((ends - length).abs() - here).abs().min((ends + length - here).abs());
        assert!(off < 0.01 * here && ends > 0.1 * here, "{ends} {length} {here}");
    }

    #[test]
    fn where_an_error_leaves_it_too_short_that_is_said() {
        let asked = Hose {
            to: Port { at: Point3::new(300.0, 0.0, 0.0), out: -Vector3::x_axis() },
            ..half_circle(100.0, 300.6)
        };
        let rest = asked.relaxed().unwrap();
        let told = asked.spread(&rest, &[error(1, [1.0, 0.0, 0.0])], 0.0, |shape| [shape.sag_mm()]);
        assert!(matches!(told, Err(HoseError::TooShort { .. })), "{told:?}");
    }

    /// An arc's radius is known; what the pieces make of it is off by no more than they say.
    #[test]
    fn coarseness_covers_what_the_pieces_hide() {
        for (radius, turn) in [(120.0, PI), (90.0, 1.3 * PI), (200.0, PI / 2.0)] {
            let end = [radius * f64::sin(turn), 0.0, radius * (1.0 - f64::cos(turn))];
            let asked = Hose {
                to: Port {
                    at: Point3::from(end),
                    out: Unit::new_normalize(Vector3::new(-turn.cos(), 0.0, -turn.sin())),
                },
                ..half_circle(radius, radius * turn)
            };
            let rest = asked.relaxed().unwrap();
            let tight = |shape: &Relaxed| [1.0 / shape.tightest().radius_mm];
            let [hidden] = asked.coarseness(&rest, tight).unwrap();
            let off = (tight(&rest)[0] - 1.0 / radius).abs();
            assert!(off <= hidden && hidden < 0.01 / radius, "{radius} {turn}: off {off}, told {hidden}");
        }
    }
}
