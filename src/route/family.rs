//! Chains of no, one and two bends: the lines of two ports leave little or nothing to choose.

use nalgebra::{Point3, Vector3};

use super::RouteAsk;
use super::bending::Bending;
use super::chain::{Chain, Station, on};
use super::field::Field;
use super::fit_up;

/// The straight tube, when the ports face each other as nearly as their joints take.
pub(super) fn straight(ask: &RouteAsk<'_>) -> Option<Chain> {
    let [start, end] = fit_up::straight(ask)?;
    Some(Chain { start, end, corners: Vec::new(), radii_mm: Vec::new() })
}

/// The tube of one bend, when the ports' axes cross ahead of both as nearly as their joints take.
pub(super) fn one_bend(ask: &RouteAsk<'_>, radius_mm: f64) -> Option<Chain> {
    let ([start, end], corner) = fit_up::one_bend(ask)?;
    Some(Chain { start, end, corners: vec![corner], radii_mm: vec![radius_mm] })
}

/// How a chain looks to the grid: its least room by estimate, `None` as soon as that is under `floor_mm`.
pub(super) fn glance(chain: &Chain, field: &Field, floor_mm: f64, from_leg: usize) -> Option<f64> {
    let layout = chain.layout();
    let mut least = f64::INFINITY;
    for leg in from_leg..layout.legs() {
        let (mut at, until) = field.asked_of_leg(&layout, leg);
        let length = layout.leg_length_mm(leg);
        loop {
            let share = if length > 0.0 { at / length } else { 0.0 };
            let room = field.about(&layout.point(Station { leg, share }));
            if room < floor_mm {
                return None;
            }
            least = least.min(room);
            if at >= until {
                break;
            }
            at = (at + (room - floor_mm).clamp(8.0, 30.0)).min(until);
        }
    }
    Some(least)
}

/// Distances along an axis at which a corner may lie, as far as the way there is free.
pub(super) fn corner_stops(
    from: &Point3<f64>,
    along: &Vector3<f64>,
    least_mm: f64,
    field: &Field,
    floor_mm: f64,
) -> Vec<f64> {
    let mut stops = Vec::new();
    let (mut at, mut gap) = (field.end_mm(), 14.0);
    loop {
        // The tube ends in a bend before its corner, so the last stop may lie a little beyond what is free.
        if field.about(&(from + along * at)) < floor_mm {
            if at > least_mm {
                stops.push(at);
                stops.push(at + gap);
            }
            return stops;
        }
        if at >= least_mm {
            stops.push(at);
            gap *= 1.12;
        }
        at += gap;
        if stops.len() > 40 {
            return stops;
        }
    }
}

/// All chains of two bends between a ray and the end port's axis that bending allows and that do not look blocked.
#[allow(clippy::too_many_arguments)]
pub(super) fn two_bends(
    head: &[Point3<f64>],
    from: (&Point3<f64>, &Vector3<f64>),
    stops: (&[f64], &[f64]),
    ask: &RouteAsk<'_>,
    bending: &Bending,
    field: &Field,
    floor_mm: f64,
    radius_mm: f64,
    mut each: impl FnMut(Chain, f64),
) {
    let mut corners: Vec<Point3<f64>> = head.to_vec();
    corners.extend([Point3::origin(); 2]);
    let count = corners.len();
    let radii_mm = vec![radius_mm; count];
    let mut chain = Chain { start: ask.start.at, end: ask.end.at, corners, radii_mm };
    let (into, v) = (from.1, ask.end.out.into_inner());
    for t in stops.1 {
        let last = on(&ask.end, *t);
        for s in stops.0 {
            let first = from.0 + into * *s;
            // Quick: both setbacks and the straights they leave.
            let between = last - first;
            let length = between.norm();
            if length < bending.between_mm {
                continue;
            }
            let way = between / length;
            let setback = |cos: f64| {
                let cos = cos.clamp(-1.0, 1.0);
                radius_mm * ((1.0 - cos) / (1.0 + cos).max(1e-6)).sqrt()
            };
            let (one, two) = (setback(into.dot(&way)), setback(-way.dot(&v)));
            let spare = 2.0;
            if one + two + bending.between_mm > length + spare
                || two + bending.last_mm > t + spare
                || one > s + spare
            {
                continue;
            }
            chain.corners[count - 2] = first;
            chain.corners[count - 1] = last;
            if chain.layout().least_rule(bending) < -spare {
                continue;
            }
            if let Some(room) = glance(&chain, field, floor_mm, 2 * (count - 2)) {
                each(chain.clone(), room);
            }
        }
    }
}
