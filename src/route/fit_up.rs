//! Ports that nearly face each other, or whose axes nearly cross: how a tube of no bend or one meets both.
//!
//! Two measured ports never lie on one line, nor in one plane, to a rounding. What a joint takes is shared out between both
//! ends, and between offset and angle, so that the greatest share that any joint is asked for is least.

use nalgebra::{Point3, Unit, Vector3};

use super::ask::EXACT_MM;
use super::chain::on;
use super::{FitUp, Port, RouteAsk};
use crate::tube::BendList;

/// Shares of what is off that are tried as angle, the rest as offset.
const TRIED: usize = 200;
/// Axes that turn by less than this (squared sine) have no one crossing.
const PARALLEL: f64 = 1e-12;

/// Ends of a straight tube between two ports that face each other, within what both joints take.
pub(super) fn straight(ask: &RouteAsk<'_>) -> Option<[Point3<f64>; 2]> {
    let (start, end) = (&ask.start, &ask.end);
    let between = end.at - start.at;
    let (out, into) = (start.out.into_inner(), -end.out.into_inner());
    if out.dot(&into) <= 0.0 || between.dot(&out) <= 0.0 || between.dot(&into) <= 0.0 {
        return None;
    }
    // Nearer to the way of the end whose joint takes less of an angle.
    let share = share(start.fit_up.angle_rad, end.fit_up.angle_rad);
    let way = (out * (1.0 - share) + into * share).normalize();
    let off = between - way * between.dot(&way);
    best(start, end, &off, |offset| {
        let ends = [start.at + offset[0], end.at + offset[1]];
        let way = Unit::try_new(ends[1] - ends[0], 1e-9)?;
        Some((ends, [way, -way]))
    })
}

/// Ends and corner of a tube of one bend between two ports whose axes cross ahead of both, within what both joints take.
pub(super) fn one_bend(ask: &RouteAsk<'_>) -> Option<([Point3<f64>; 2], Point3<f64>)> {
    let (start, end) = (&ask.start, &ask.end);
    let (u, v) = (start.out.into_inner(), end.out.into_inner());
    let across = u.cross(&v);
    let square = across.norm_squared();
    if square < PARALLEL {
        return None;
    }
    let between = end.at - start.at;
    let s = between.cross(&v).dot(&across) / square;
    let t = between.cross(&u).dot(&across) / square;
    if s <= 0.0 || t <= 0.0 {
        return None;
    }
    let (one, other) = (on(start, s), on(end, t));
    // The corner lies between the two axes, nearer to that of the joint that takes less.
    let corner = one + (other - one) * share(start.fit_up.offset_mm, end.fit_up.offset_mm);
    let ends = best(start, end, &(other - one), |offset| {
        let ends = [start.at + offset[0], end.at + offset[1]];
        Some((ends, [Unit::try_new(corner - ends[0], 1e-9)?, Unit::try_new(corner - ends[1], 1e-9)?]))
    })?;
    Some((ends, corner))
}

/// The start's share of what both take; half where neither takes anything.
fn share(start: f64, end: f64) -> f64 {
    if start + end > 0.0 { start / (start + end) } else { 0.5 }
}

/// Of offsets from all to none of `off`, shared out by what both joints take, the one that asks least of the joint that is
/// asked most; `None` where that is more than it takes.
fn best(
    start: &Port,
    end: &Port,
    off: &Vector3<f64>,
    made: impl Fn([Vector3<f64>; 2]) -> Option<([Point3<f64>; 2], [Unit<Vector3<f64>>; 2])>,
) -> Option<[Point3<f64>; 2]> {
    let share = share(start.fit_up.offset_mm, end.fit_up.offset_mm);
    let asked = |fit_up: &FitUp, off: &FitUp| {
        (off.offset_mm / fit_up.offset_mm.max(EXACT_MM)).max(off.angle_rad / fit_up.angle_rad.max(EXACT_MM))
    };
    let mut least: Option<(f64, [Point3<f64>; 2])> = None;
    for step in 0..=TRIED {
        let left = off * (step as f64 / TRIED as f64);
        let Some((ends, ways)) = made([left * share, left * (share - 1.0)]) else { continue };
        let worst = asked(&start.fit_up, &off_port(start, &ends[0], &ways[0]))
            .max(asked(&end.fit_up, &off_port(end, &ends[1], &ways[1])));
        if worst <= 1.0 && least.as_ref().is_none_or(|(most, _)| worst < *most) {
            least = Some((worst, ends));
        }
    }
    least.map(|(_, ends)| ends)
}

/// How far off a port a tube's end lies that leaves it by `way`.
fn off_port(port: &Port, at: &Point3<f64>, way: &Unit<Vector3<f64>>) -> FitUp {
    FitUp { offset_mm: (at - port.at).norm(), angle_rad: port.out.cross(way).norm().atan2(port.out.dot(way)) }
}

/// How far off its two ports a tube ends.
pub(super) fn ends_off(ask: &RouteAsk<'_>, list: &BendList) -> [FitUp; 2] {
    [(&ask.start, list.start, 1.0), (&ask.end, list.end(), -1.0)].map(|(port, pose, sign)| {
        off_port(port, &pose.translation.vector.into(), &Unit::new_normalize(pose * Vector3::x() * sign))
    })
}

/// How far off the port's axis a tube may lie within so much of its end, mm: less than that in its way may be passed.
pub(super) fn slack_mm(port: &Port, length_mm: f64) -> f64 {
    port.fit_up.offset_mm + length_mm * port.fit_up.angle_rad.tan()
}
