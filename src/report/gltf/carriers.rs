//! A carrier's freedoms as nodes, one within the other, the first listed outermost; and how each swings over its range.

use std::f64::consts::FRAC_PI_2;

use nalgebra::UnitQuaternion;

use crate::motion::Freedom;

use super::skin::metres;

/// A turn or shift of a node at a time.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Track {
    /// Seconds, rising.
    pub times: Vec<f32>,
    pub values: Values,
}

/// What is keyed.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Values {
    /// Metres.
    Shift(Vec<[f32; 3]>),
    /// Quaternions, neighbours on one side of the sphere.
    Turn(Vec<[f32; 4]>),
    /// Scale, held until the next key: 0 is not there.
    There(Vec<[f32; 3]>),
}

impl Default for Values {
    fn default() -> Self {
        Values::Shift(Vec::new())
    }
}

/// A turn goes no farther than this between two keys, so that the short way is the right one whatever is rounded.
pub(super) const KEY_TURN_RAD: f64 = FRAC_PI_2;

/// A quaternion as the file has it.
pub(super) fn turn_of(turn: &UnitQuaternion<f64>) -> [f32; 4] {
    let q = turn.coords;
    [q.x, q.y, q.z, q.w].map(|v| v as f32)
}

/// Flips quaternions so that neighbours lie on one side: the standard's interpolation goes by the short way then, also where
/// a player does not look.
pub(super) fn by_the_short_way(turns: &mut [[f32; 4]]) {
    for at in 1..turns.len() {
        let dot: f32 = turns[at - 1].iter().zip(turns[at]).map(|(a, b)| a * b).sum();
        if dot < 0.0 {
            turns[at] = turns[at].map(|v| -v);
        }
    }
}

/// How a freedom's node stands at a value (radians or mm): shift, metres, and turn. What rides on it is a child that is shifted
/// back by [`back`].
pub(super) fn stand(freedom: &Freedom, value: f64) -> ([f32; 3], [f32; 4]) {
    match freedom {
        Freedom::Turn { axis, .. } => {
            (metres(&axis.through.coords), turn_of(&UnitQuaternion::from_axis_angle(&axis.along, value)))
        }
        Freedom::Slide { along, .. } => (metres(&(along.into_inner() * value)), [0.0, 0.0, 0.0, 1.0]),
    }
}

/// What a freedom's child is shifted back by, metres: a turn is about a line that need not go through the origin.
pub(super) fn back(freedom: &Freedom) -> Option<[f32; 3]> {
    match freedom {
        Freedom::Turn { axis, .. } => Some(metres(&-axis.through.coords)),
        Freedom::Slide { .. } => None,
    }
}

/// Held at a value for a time.
pub(super) fn held(freedom: &Freedom, value: f64, seconds: f32) -> Track {
    let (shift, turn) = stand(freedom, value);
    let values = match freedom {
        Freedom::Turn { .. } => Values::Turn(vec![turn; 2]),
        Freedom::Slide { .. } => Values::Shift(vec![shift; 2]),
    };
    Track { times: vec![0.0, seconds], values }
}

/// From rest to one end, back, to the other end, and back.
pub(super) fn swing(freedom: &Freedom) -> Track {
    let (low, high) = freedom.range();
    let (rate, most) = match freedom {
        // Slow enough to be followed by eye: 20 deg or 15 mm a second, a leg within 0.6 and 4 s.
        Freedom::Turn { .. } => (20f64.to_radians(), KEY_TURN_RAD),
        Freedom::Slide { .. } => (15.0, f64::INFINITY),
    };
    let mut keys = vec![(0.0, 0.0)];
    let (mut at, mut time) = (0.0, 0.0);
    for end in [high, 0.0, low, 0.0] {
        let far: f64 = end - at;
        if far == 0.0 {
            continue;
        }
        let seconds = (far.abs() / rate).clamp(0.6, 4.0);
        let pieces = (far.abs() / most).ceil().clamp(1.0, 64.0) as usize;
        for piece in 1..=pieces {
            let share = piece as f64 / pieces as f64;
            keys.push((time + seconds * share, at + far * share));
        }
        (at, time) = (end, time + seconds);
    }
    let times = keys.iter().map(|(time, _)| *time as f32).collect();
    let stands = keys.iter().map(|(_, value)| stand(freedom, *value));
    let values = match freedom {
        Freedom::Turn { .. } => {
            let mut turns: Vec<[f32; 4]> = stands.map(|(_, turn)| turn).collect();
            by_the_short_way(&mut turns);
            Values::Turn(turns)
        }
        Freedom::Slide { .. } => Values::Shift(stands.map(|(shift, _)| shift).collect()),
    };
    Track { times, values }
}

/// There, or not there, from a time on.
pub(super) fn there(from: f32, until: f32) -> Track {
    let (none, whole) = ([0.0; 3], [1.0; 3]);
    let (times, scales) = match from > 0.0 {
        true if from < until => (vec![0.0, from, until], vec![none, whole, whole]),
        true => (vec![0.0, until], vec![none; 2]),
        false => (vec![0.0, until], vec![whole; 2]),
    };
    Track { times, values: Values::There(scales) }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use super::*;
    use crate::space::Axis;
    use nalgebra::{Point3, Vector3};

    #[test]
    fn a_swing_goes_to_both_ends_and_ends_at_rest() {
        let axis = Axis { through: Point3::new(0.0, 0.0, 500.0), along: Vector3::x_axis() };
        let rock = Freedom::Turn { axis, from_rad: -0.02, to_rad: 0.05 };
        let track = swing(&rock);
        let Values::Turn(turns) = &track.values else { panic!("{track:?}") };
        let half: Vec<f64> = turns.iter().map(|turn| 2.0 * f64::from(turn[0]).asin()).collect();
        for (got, want) in half.iter().zip([0.0, 0.05, 0.0, -0.02, 0.0]) {
            assert!((got - want).abs() < 1e-7, "{half:?}");
        }
        assert!(track.times.windows(2).all(|pair| pair[0] < pair[1]), "{:?}", track.times);
        // A lid that opens by 170 degrees: two keys each way.
        let lid = swing(&Freedom::Turn { axis, from_rad: 0.0, to_rad: 170f64.to_radians() });
        assert_eq!(lid.times.len(), 5);
    }
}
