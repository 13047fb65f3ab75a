//! Keys of a way.
//!
//! The node that is keyed stands at the body's middle, which goes straight while the body turns evenly about it: so the standard's
//! interpolations, linear for shifts and spherical linear for turns, follow a move exactly between its two poses. What is left is the
//! rounding of keys to 32 bits, which is measured here.

use nalgebra::{Point3, Quaternion, UnitQuaternion, Vector3};

use crate::space::Pose;
use crate::way_in::{Move, Way};

use super::carriers::{KEY_TURN_RAD, by_the_short_way, turn_of};
use super::skin::metres;

/// The farthest point of a body goes so fast, mm/s; no move is shorter than [`LEAST_S`].
const SPEED_MM_S: f64 = 200.0;
const LEAST_S: f64 = 0.4;
/// Held at the start and at the end, s.
const HOLD_S: f64 = 0.6;
/// Instants looked at between two keys.
const INSTANTS: usize = 32;

/// A way as keys of the node at the body's middle.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Film {
    pub times: Vec<f32>,
    pub shifts: Vec<[f32; 3]>,
    pub turns: Vec<[f32; 4]>,
    /// How far any point of the body is from where the way has it, at most, at all instants looked at, mm.
    pub stray_mm: f64,
}

/// The moves of a way, the one on to its seat the last.
pub(super) fn legs(way: &Way, seat_mm: Option<Vector3<f64>>) -> Vec<Move> {
    let seat = seat_mm.zip(way.poses.last());
    let seat = seat.map(|(seat_mm, from)| Move::on_to_seat(*from, &way.middle, seat_mm));
    way.moves().into_iter().chain(seat).collect()
}

impl Film {
    /// Of moves, in the frame of what carries the body: `carrier_from_world` where it does not stand at rest. Begins at
    /// `from_s`; no point of the body is farther than `reach_mm` from its middle.
    pub fn of(
        moves: &[Move],
        middle: &Point3<f64>,
        carrier_from_world: &Pose,
        reach_mm: f64,
        from_s: f64,
    ) -> Self {
        let mut film = Film::default();
        let Some(first) = moves.first() else { return film };
        let key = |film: &mut Film, time_s: f64, world_from_body: &Pose| {
            let pose = carrier_from_world * world_from_body;
            film.times.push(time_s as f32);
            film.shifts.push(metres(&(pose * middle).coords));
            film.turns.push(turn_of(&pose.rotation));
        };
        let mut time_s = from_s + HOLD_S;
        if from_s > 0.0 {
            key(&mut film, 0.0, &first.from);
        }
        key(&mut film, from_s, &first.from);
        key(&mut film, time_s, &first.from);
        let before = film.times.len() - 1;
        let mut steps = Vec::with_capacity(moves.len());
        for leg in moves {
            let turn_rad = leg.turn_rad.norm();
            let seconds = ((leg.slide_mm.norm() + reach_mm * turn_rad) / SPEED_MM_S).max(LEAST_S);
            let pieces = (turn_rad / KEY_TURN_RAD).ceil().clamp(1.0, 4.0) as usize;
            for piece in 1..=pieces {
                let share = piece as f64 / pieces as f64;
                key(&mut film, time_s + seconds * share, &leg.at(share));
                steps.push((leg, (piece - 1) as f64 / pieces as f64, share));
            }
            time_s += seconds;
        }
        if let Some(last) = moves.last() {
            key(&mut film, time_s + HOLD_S, &last.to);
        }
        by_the_short_way(&mut film.turns);
        for (at, (leg, from, to)) in steps.into_iter().enumerate() {
            for instant in 0..=INSTANTS {
                let share = instant as f64 / INSTANTS as f64;
                let (shift, turn) = film.between(before + at, share);
                let want = carrier_from_world * leg.at(from + (to - from) * share);
                let off_mm =
                    (shift - (want * middle).coords).norm() + reach_mm * turn.angle_to(&want.rotation);
                film.stray_mm = film.stray_mm.max(off_mm);
            }
        }
        film
    }

    /// The last time, s.
    pub fn ends_s(&self) -> f64 {
        self.times.last().map_or(0.0, |time| f64::from(*time))
    }

    /// What the standard has a player do between two keys: shift, mm, linear; turn, spherical linear.
    fn between(&self, at: usize, share: f64) -> (Vector3<f64>, UnitQuaternion<f64>) {
        let shift = |at: usize| Vector3::from(self.shifts[at].map(|m| 1000.0 * f64::from(m)));
        let turn = |at: usize| {
            let [x, y, z, w] = self.turns[at].map(f64::from);
            UnitQuaternion::from_quaternion(Quaternion::new(w, x, y, z))
        };
        let (a, b) = (turn(at), turn(at + 1));
        // Neighbours are on one side of the sphere and never half a turn apart; where they are the same there is nothing between.
        let between = a.try_slerp(&b, share, 1e-15).unwrap_or(a);
        (shift(at).lerp(&shift(at + 1), share), between)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use super::*;
    use nalgebra::Translation3;

    fn way(turn: Vector3<f64>, middle: Point3<f64>) -> Way {
        let to = Translation3::new(300.0, -200.0, 100.0)
            * UnitQuaternion::from_scaled_axis(turn)
            * Translation3::from(-middle.coords);
        Way {
            poses: vec![Pose::translation(0.0, 0.0, 900.0), to],
            middle,
            spare: Default::default(),
            effort: Default::default(),
        }
    }

    #[test]
    fn what_plays_the_keys_stays_on_the_way_whatever_the_turn() {
        let middle = Point3::new(400.0, 30.0, -20.0);
        for turn in [
            Vector3::zeros(),
            Vector3::z() * 1.2,
            Vector3::new(1.0, -2.0, 1.5),
            Vector3::y() * std::f64::consts::PI,
            Vector3::x() * (std::f64::consts::PI - 1e-4),
        ] {
            let moves = legs(&way(turn, middle), Some(Vector3::new(0.0, 0.0, -4.0)));
            assert_eq!(moves.len(), 2);
            let film = Film::of(&moves, &middle, &Pose::identity(), 900.0, 2.0);
            assert!(film.stray_mm < 1e-3, "{turn:?}: {} mm", film.stray_mm);
            assert!(film.times.windows(2).all(|pair| pair[0] < pair[1]), "{:?}", film.times);
            assert!((film.shifts.last().unwrap()[2] - 0.096).abs() < 1e-7, "{:?}", film.shifts);
        }
    }

    #[test]
    fn a_node_at_the_frame_instead_of_the_middle_would_stray_and_is_told() {
        // The measure sees what it is there to see: keys that were laid for another point.
        let middle = Point3::new(400.0, 0.0, 0.0);
        let moves = legs(&way(Vector3::z() * 1.5, middle), None);
        let film = Film::of(&moves, &Point3::origin(), &Pose::identity(), 900.0, 0.0);
        assert!(film.stray_mm > 50.0, "{} mm", film.stray_mm);
    }
}
