//! Corners moved for the most room, or for the least length that still has room.

use nalgebra::Point3;

use super::RouteAsk;
use super::bending::{Angles, Bending};
use super::chain::{Chain, Layout, Station};
use super::field::{Field, Near};
use super::minimax::{Row, step};
use super::stock_angles;

/// Rules of bending weigh so much more than room: a straight that is 1 mm short counts as 10 mm of room lacking.
const RULE_WEIGHT: f64 = 10.0;
/// Planes within this of the nearest are looked at together, mm.
const BAND_MM: f64 = 25.0;
/// Least and greatest distance between two points at which room is asked, mm.
const STRIDE_MM: (f64, f64) = (3.0, 24.0);
/// No corner moves further than this in one step, mm.
const MOST_STEP_MM: f64 = 40.0;
/// Most rows of one step.
const MOST_ROWS: usize = 90;

/// What a refinement is after.
#[derive(Clone, Copy, Debug)]
pub(super) struct Aim {
    /// Room beyond this is worth nothing, mm.
    pub room_cap_mm: f64,
    /// What a millimetre of length costs in millimetres of room.
    pub length_cost: f64,
    /// Steps.
    pub steps: usize,
}

/// What a chain is worth.
#[derive(Clone, Debug)]
pub(super) struct Worth {
    /// Least room over the sampled line and poses, mm.
    pub room_mm: f64,
    /// Least of what is left of the rules of bending, mm.
    pub rule_mm: f64,
    pub length_mm: f64,
}

impl Worth {
    /// Whether it seems to be a route: it is yet to be proved.
    pub fn sound(&self) -> bool {
        self.room_mm > 0.0 && self.rule_mm > -1e-9
    }

    /// Room and rules in one figure.
    pub fn least(&self) -> f64 {
        self.room_mm.min(RULE_WEIGHT * self.rule_mm)
    }
}

/// Walks the line and hands on every plane within a band of the least room, and all under `look_mm`.
fn walk(layout: &Layout, field: &Field, look_mm: f64, mut each: impl FnMut(Station, &Near)) -> f64 {
    let mut least = f64::INFINITY;
    let mut near = Vec::new();
    for leg in 0..layout.legs() {
        let (mut at, until) = field.asked_of_leg(layout, leg);
        let length = layout.leg_length_mm(leg);
        loop {
            let station = Station { leg, share: if length > 0.0 { at / length } else { 0.0 } };
            near.clear();
            let limit = if least.is_finite() { (least + BAND_MM).max(look_mm) } else { super::field::FAR_MM };
            field.near(&layout.point(station), limit, &mut near);
            let mut here = limit;
            for one in &near {
                here = here.min(one.slack_mm);
                each(station, one);
            }
            if !near.is_empty() {
                least = least.min(here);
            }
            if at >= until {
                break;
            }
            let spare = here - least.min(here) + if near.is_empty() { BAND_MM } else { 0.0 };
            at = (at + spare.clamp(STRIDE_MM.0, STRIDE_MM.1)).min(until);
        }
    }
    least.min(super::field::FAR_MM)
}

/// The least room along the line; each point is asked only for less than is known.
fn least_room(layout: &Layout, field: &Field) -> f64 {
    let mut least = super::field::FAR_MM;
    for leg in 0..layout.legs() {
        let (mut at, until) = field.asked_of_leg(layout, leg);
        let length = layout.leg_length_mm(leg);
        loop {
            let share = if length > 0.0 { at / length } else { 0.0 };
            let point = layout.point(Station { leg, share });
            // As far as that is free, the next point cannot be nearer than what is known.
            let found = field.nearest(&point, least + STRIDE_MM.1);
            let here = found.map_or(least + STRIDE_MM.1, |near| near.slack_mm);
            least = least.min(here);
            if at >= until {
                break;
            }
            at = (at + (here - least).clamp(STRIDE_MM.0, STRIDE_MM.1)).min(until);
        }
    }
    least
}

/// What a chain is worth, over the sampled line.
pub(super) fn worth(chain: &Chain, bending: &Bending, field: &Field) -> Worth {
    let layout = chain.layout();
    let room_mm = least_room(&layout, field);
    Worth { room_mm, rule_mm: layout.least_rule(bending), length_mm: layout.length_mm() }
}

/// What an aim makes of it, mm of room.
pub(super) fn value(worth: &Worth, aim: &Aim) -> f64 {
    worth.least().min(aim.room_cap_mm) - aim.length_cost * worth.length_mm
}

/// The rows and the slope of length of a chain.
fn rows(
    chain: &Chain,
    ask: &RouteAsk<'_>,
    bending: &Bending,
    field: &Field,
    aim: &Aim,
) -> (Vec<Row>, Vec<f64>) {
    let layout = chain.layout();
    let variables = chain.variables();
    let mut planes: Vec<(Station, Near)> = Vec::new();
    let least = walk(&layout, field, f64::NEG_INFINITY, |station, near| planes.push((station, *near)));
    planes.retain(|(_, near)| near.slack_mm < (least + BAND_MM).min(aim.room_cap_mm + BAND_MM));
    if planes.len() > MOST_ROWS {
        planes.sort_by(|a, b| a.1.slack_mm.total_cmp(&b.1.slack_mm));
        planes.truncate(MOST_ROWS);
    }
    let count = variables.len();
    let mut out: Vec<Row> =
        planes.iter().map(|(_, near)| Row { value: near.slack_mm, slope: vec![0.0; count] }).collect();
    let rules: Vec<f64> = layout.rules(bending).collect();
    let first_rule = out.len();
    out.extend(rules.iter().map(|value| Row { value: RULE_WEIGHT * value, slope: vec![0.0; count] }));
    let points: Vec<_> = planes.iter().map(|(station, _)| layout.point(*station)).collect();
    let mut cost = vec![0.0; count];
    let small = 1e-3;
    for variable in 0..count {
        let mut moved = variables.clone();
        moved[variable] += small;
        let there = chain.with(ask, &moved).layout();
        for (row, ((station, near), point)) in out.iter_mut().zip(planes.iter().zip(&points)) {
            row.slope[variable] = near.normal.dot(&(there.point(*station) - point)) / small;
        }
        for (at, (rule, before)) in there.rules(bending).zip(&rules).enumerate() {
            out[first_rule + at].slope[variable] = RULE_WEIGHT * (rule - before) / small;
        }
        cost[variable] = aim.length_cost * (there.length_mm() - layout.length_mm()) / small;
    }
    out.push(Row { value: aim.room_cap_mm, slope: vec![0.0; count] });
    (out, cost)
}

/// Moves a chain's corners toward an aim; the worth of what it came to with it.
pub(super) fn refine(
    chain: &Chain,
    ask: &RouteAsk<'_>,
    bending: &Bending,
    field: &Field,
    aim: &Aim,
) -> (Chain, Worth) {
    let project = |chain: Chain| match &bending.angles {
        Angles::Any => Some(chain),
        Angles::Set(angles) => stock_angles::snapped(&chain, ask, angles),
    };
    let mut best = project(chain.clone()).unwrap_or_else(|| chain.clone());
    let mut known = worth(&best, bending, field);
    if best.variables().is_empty() {
        return (best, known);
    }
    let mut reach = 100.0;
    let mut stale = 0;
    for _ in 0..aim.steps {
        let (rows, cost) = rows(&best, ask, bending, field, aim);
        let mut better = None;
        for _ in 0..4 {
            let mut change = step(&rows, &cost, 1.0, reach);
            let most = change.iter().fold(0.0f64, |most, v| most.max(v.abs()));
            if most > MOST_STEP_MM {
                change.iter_mut().for_each(|v| *v *= MOST_STEP_MM / most);
            }
            let moved: Vec<f64> = best.variables().iter().zip(&change).map(|(v, d)| v + d).collect();
            if moved[0] > 1.0
                && moved[moved.len() - 1] > 1.0
                && let Some(there) = project(best.with(ask, &moved))
            {
                let found = worth(&there, bending, field);
                if value(&found, aim) > value(&known, aim) + 1e-3 {
                    better = Some((there, found));
                    break;
                }
            }
            reach /= 4.0;
        }
        let Some((there, found)) = better else { break };
        let gained = value(&found, aim) - value(&known, aim);
        stale = if gained < 0.05 { stale + 1 } else { 0 };
        best = there;
        known = found;
        reach = (reach * 2.0).min(2000.0);
        if stale >= 3 {
            break;
        }
    }
    (best, known)
}

/// The least room to each obstacle that comes near, and where on the line.
pub(super) fn blockers(chain: &Chain, field: &Field) -> Vec<(usize, f64, Point3<f64>)> {
    let layout = chain.layout();
    let mut found: Vec<(usize, f64, Point3<f64>)> = Vec::new();
    walk(&layout, field, 0.0, |station, near| match found.iter_mut().find(|one| one.0 == near.obstacle) {
        Some(one) if one.1 <= near.slack_mm => {}
        Some(one) => *one = (near.obstacle, near.slack_mm, layout.point(station)),
        None => found.push((near.obstacle, near.slack_mm, layout.point(station))),
    });
    found
}
