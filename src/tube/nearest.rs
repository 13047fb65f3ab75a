//! The nearest place on a centreline.

use std::f64::consts::TAU;

use nalgebra::Point3;

use crate::solid::{Bend, Leg};

/// How far along a leg its nearest point to a place lies, mm, held between its ends.
pub(super) fn nearest_along_mm(leg: &Leg, place: &Point3<f64>) -> f64 {
    match leg {
        Leg::Straight { from, to } => {
            let length = (to - from).norm();
            ((place - from).dot(&(to - from)) / length).clamp(0.0, length)
        }
        Leg::Bend(bend) => nearest_angle_rad(bend, place) * bend.radius_mm,
    }
}

/// The angle from a bend's start at which it is nearest to a place, held between its ends.
fn nearest_angle_rad(bend: &Bend, place: &Point3<f64>) -> f64 {
    let offset = place - bend.center;
    let angle = bend.axis.cross(&bend.start).dot(&offset).atan2(bend.start.dot(&offset));
    let angle = if angle < 0.0 { angle + TAU } else { angle };
    if angle <= bend.sweep_rad {
        return angle;
    }
    // Beyond the arc: the end that is less of a turn away.
    if angle - bend.sweep_rad < TAU - angle { bend.sweep_rad } else { 0.0 }
}
