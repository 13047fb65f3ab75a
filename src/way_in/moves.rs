//! A way as moves that a person can follow.

use nalgebra::{Isometry3, Point3, Translation3, UnitQuaternion, Vector3};

use super::answer::Way;
use super::mover::Step;
use crate::space::Pose;

/// One move: the body's middle slides straight while the body turns evenly about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Move {
    /// Where it begins, world_from_body.
    pub from: Pose,
    /// Where it ends.
    pub to: Pose,
    /// How far the middle slides, vehicle axes, mm.
    pub slide_mm: Vector3<f64>,
    /// Axis times angle, right-handed, vehicle axes, radians.
    pub turn_rad: Vector3<f64>,
    /// Where the middle is when it begins.
    pub middle: Point3<f64>,
}

/// A slide shorter than this is not worth a word, mm; a turn smaller, radians.
const NO_SLIDE_MM: f64 = 0.5;
const NO_TURN_RAD: f64 = 0.5 * std::f64::consts::PI / 180.0;

impl Way {
    /// Its moves, in order.
    pub fn moves(&self) -> Vec<Move> {
        let middle = |pose: &Pose| pose * nalgebra::Translation3::from(self.middle.coords);
        self.poses
            .windows(2)
            .map(|pair| {
                let step = Step::new(&middle(&pair[0]), &middle(&pair[1]));
                Move {
                    from: pair[0],
                    to: pair[1],
                    slide_mm: step.shift,
                    turn_rad: step.turn,
                    middle: pair[0] * self.middle,
                }
            })
            .collect()
    }
}

impl Move {
    /// The last move of a part on to what it is fastened to: straight, without a turn, from a pose (world_from_body) by a shift
    /// (mm, vehicle axes). `middle` is the point of the body, in its frame, that is told of.
    pub fn on_to_seat(from: Pose, middle: &Point3<f64>, seat_mm: Vector3<f64>) -> Self {
        Move {
            from,
            to: Translation3::from(seat_mm) * from,
            slide_mm: seat_mm,
            turn_rad: Vector3::zeros(),
            middle: from * middle,
        }
    }

    /// Where the body is at a share of the move, 0 to 1 (what lies outside counts as the nearer end): world_from_body. The middle
    /// goes straight and the body turns evenly about it, as was proved.
    ///
    /// # Example
    /// Half way through a quarter turn about a middle 100 mm up the body's z, which slides 40 mm rearward:
    /// ```
    /// # extern crate baywright_lower as baywright;
    /// use baywright::space::Pose;
    /// use baywright::way_in::Way;
    /// use nalgebra::{Point3, Translation3, UnitQuaternion, Vector3};
    /// let middle = Point3::new(0.0, 0.0, 100.0);
    /// let turn = UnitQuaternion::from_scaled_axis(Vector3::y() * std::f64::consts::FRAC_PI_2);
    /// let there = Translation3::new(40.0, 0.0, 100.0) * turn * Translation3::new(0.0, 0.0, -100.0);
    /// let way = Way { poses: vec![Pose::identity(), there], middle, spare: Default::default(), effort: Default::default() };
    /// let half = way.moves()[0].at(0.5);
    /// assert!((half * middle - Point3::new(20.0, 0.0, 100.0)).norm() < 1e-9);
    /// // 45 degrees: what stood straight below the middle is now as far below it as forward of it.
    /// let below = half * Point3::origin();
    /// assert!((below - Point3::new(20.0 - 100.0 * 0.5f64.sqrt(), 0.0, 100.0 - 100.0 * 0.5f64.sqrt())).norm() < 1e-9);
    /// ```
    pub fn at(&self, share: f64) -> Pose {
        if share >= 1.0 {
            return self.to;
        }
        let share = share.max(0.0);
        let middle = self.from.inverse_transform_point(&self.middle);
        let turn = UnitQuaternion::from_scaled_axis(self.turn_rad * share) * self.from.rotation;
        let shift = self.middle + self.slide_mm * share - turn * middle;
        Isometry3::from_parts(Translation3::from(shift), turn)
    }

    /// The move in words, axes x rearward, y to the vehicle's right, z up.
    ///
    /// # Example
    /// ```
    /// # extern crate baywright_lower as baywright;
    /// use baywright::space::Pose;
    /// use baywright::way_in::Move;
    /// use nalgebra::{Point3, Vector3};
    /// let lower = Move {
    ///     from: Pose::identity(),
    ///     to: Pose::translation(0.0, 0.0, -180.0),
    ///     slide_mm: Vector3::new(0.0, 0.0, -180.0),
    ///     turn_rad: Vector3::new(0.0, 0.0, -0.6981317),
    ///     middle: Point3::origin(),
    /// };
    /// assert_eq!(lower.words(), "lower 180 mm, and meanwhile turn 40 deg clockwise seen from above");
    /// ```
    pub fn words(&self) -> String {
        let slide = (self.slide_mm.norm() >= NO_SLIDE_MM).then(|| slide_words(&self.slide_mm));
        let turn = (self.turn_rad.norm() >= NO_TURN_RAD).then(|| turn_words(&self.turn_rad));
        match (slide, turn) {
            (Some(slide), Some(turn)) => format!("{slide}, and meanwhile {turn}"),
            (Some(slide), None) => slide,
            (None, Some(turn)) => turn,
            (None, None) => "ease it over by less than 0.5 mm".to_owned(),
        }
    }
}

/// The last move on to a seat (mm, vehicle axes) in words.
pub fn seat_words(seat_mm: &Vector3<f64>) -> String {
    // No minus before a nought.
    let [x, y, z] = [seat_mm.x, seat_mm.y, seat_mm.z].map(|v| (10.0 * v).round() / 10.0 + 0.0);
    format!("on to its seat: ({x:.1}, {y:.1}, {z:.1}) mm (not looked at)")
}

/// Less of a component than this is no part of a move that goes elsewhere by more, mm and rad (1 degree).
const LEAST_MM: f64 = 1.0;
const LEAST_RAD: f64 = 0.0175;

/// Components that matter, the greatest first; others than that only from `least` on.
fn ranked(of: &Vector3<f64>, least: f64) -> Vec<(usize, f64)> {
    let most = of.amax();
    let mut parts: Vec<(usize, f64)> = (0..3).map(|axis| (axis, of[axis])).collect();
    parts.retain(|(_, value)| value.abs() >= most || value.abs() > (0.12 * most).max(least));
    parts.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    parts
}

fn slide_words(slide_mm: &Vector3<f64>) -> String {
    let parts: Vec<String> = ranked(slide_mm, LEAST_MM)
        .into_iter()
        .map(|(axis, mm)| {
            let word = match (axis, mm > 0.0) {
                (0, true) => "slide rearward",
                (0, false) => "slide forward",
                (1, true) => "slide to the right",
                (1, false) => "slide to the left",
                (_, true) => "raise",
                (_, false) => "lower",
            };
            format!("{word} {:.0} mm", mm.abs())
        })
        .collect();
    parts.join(" and ")
}

fn turn_words(turn_rad: &Vector3<f64>) -> String {
    let parts: Vec<String> = ranked(turn_rad, LEAST_RAD)
        .into_iter()
        .map(|(axis, rad)| {
            let deg = rad.abs().to_degrees();
            match (axis, rad > 0.0) {
                (0, true) => format!("roll its right side up {deg:.0} deg"),
                (0, false) => format!("roll its right side down {deg:.0} deg"),
                (1, true) => format!("tip its top rearward {deg:.0} deg"),
                (1, false) => format!("tip its top forward {deg:.0} deg"),
                (_, true) => format!("turn {deg:.0} deg anticlockwise seen from above"),
                (_, false) => format!("turn {deg:.0} deg clockwise seen from above"),
            }
        })
        .collect();
    parts.join(" with ")
}
