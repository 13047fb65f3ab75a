//! Bends and straights laid end to end toward the far port, the most promising first.
//!
//! A state is the end of a bend: a place and a direction. From it a straight of some length and a bend of some
//! angle, rolled some way, lead to the next. From every state taken up, two more bends are tried that end in the far
//! port exactly. Two states of one small box of places and directions are one.

use std::cmp::Ordering;
use std::collections::{BinaryHeap, HashMap};

use nalgebra::{Point3, Unit, UnitQuaternion, Vector3};

use super::RouteAsk;
use super::bending::{Angles, Bending};
use super::chain::{Chain, on};
use super::family::{corner_stops, two_bends};
use super::field::Field;
use super::flood::Flood;

/// Angles tried where any may be bent, deg.
const ANGLES_DEG: [f64; 6] = [20.0, 35.0, 50.0, 70.0, 90.0, 115.0];
/// Ways round that a bend is rolled.
const ROLLS: usize = 12;
/// What a bend costs, in millimetres of length.
const BEND_MM: f64 = 150.0;
/// Places nearer than this, mm, and directions in one of some 100 boxes, are one.
const SAME_MM: f64 = 36.0;

/// A chain that the search came upon.
#[derive(Clone, Debug)]
pub(super) struct Candidate {
    pub chain: Chain,
    /// Room by estimate, mm; may be under zero by what refining may mend.
    pub room_mm: f64,
    pub length_mm: f64,
}

struct State {
    at: Point3<f64>,
    along: Vector3<f64>,
    corners: Vec<Point3<f64>>,
    length_mm: f64,
}

struct Open {
    cost: f64,
    number: usize,
    state: State,
}
impl PartialEq for Open {
    fn eq(&self, other: &Self) -> bool {
        self.number == other.number
    }
}
impl Eq for Open {}
impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Open {
    fn cmp(&self, other: &Self) -> Ordering {
        other.cost.total_cmp(&self.cost).then(other.number.cmp(&self.number))
    }
}

/// How far the search goes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Budget {
    /// States taken up.
    pub states: usize,
    /// Candidates after which it stops.
    pub candidates: usize,
    /// Least room by estimate, mm.
    pub floor_mm: f64,
}

fn key(state: &State) -> [i16; 7] {
    let place = state.at.coords / SAME_MM;
    let way = state.along * 2.5;
    [
        place.x.round() as i16,
        place.y.round() as i16,
        place.z.round() as i16,
        way.x.round() as i16,
        way.y.round() as i16,
        way.z.round() as i16,
        state.corners.len() as i16,
    ]
}

/// Candidates of two bends and more, up to the most that is asked.
pub(super) fn search(
    ask: &RouteAsk<'_>,
    bending: &Bending,
    radius_mm: f64,
    field: &Field,
    flood: &Flood,
    budget: Budget,
) -> Vec<Candidate> {
    let floor = budget.floor_mm;
    let angles: Vec<f64> = match &bending.angles {
        Angles::Any => {
            ANGLES_DEG.iter().map(|deg| deg.to_radians()).filter(|rad| *rad <= bending.most_rad).collect()
        }
        Angles::Set(angles) => angles.clone(),
    };
    let goal_stops = corner_stops(&ask.end.at, &ask.end.out, bending.last_mm, field, floor);
    let mut found: Vec<Candidate> = Vec::new();
    let mut heap = BinaryHeap::new();
    let mut seen: HashMap<[i16; 7], f64> = HashMap::new();
    let start =
        State { at: ask.start.at, along: ask.start.out.into_inner(), corners: Vec::new(), length_mm: 0.0 };
    heap.push(Open { cost: flood.from(field, &start.at), number: 0, state: start });
    let mut number = 0;
    for _ in 0..budget.states {
        let Some(Open { state, .. }) = heap.pop() else { break };
        let first = state.corners.is_empty();
        let least = if first { bending.first_mm } else { bending.between_mm };
        let stops = corner_stops(&state.at, &state.along, least, field, floor);
        let mut shots = Vec::new();
        two_bends(
            &state.corners,
            (&state.at, &state.along),
            (&stops, &goal_stops),
            ask,
            bending,
            field,
            floor,
            radius_mm,
            |chain, room_mm| {
                let length_mm = chain.layout().length_mm();
                shots.push(Candidate { chain, room_mm, length_mm });
            },
        );
        keep_best(&mut shots, if first { 12 } else { 2 });
        found.append(&mut shots);
        if found.len() >= budget.candidates {
            break;
        }
        if state.corners.len() + 3 > ask.most_bends {
            continue;
        }
        for stop in &stops {
            if field.about(&(state.at + state.along * *stop)) < floor {
                continue;
            }
            for angle in &angles {
                let setback = radius_mm * (angle / 2.0).tan();
                let corner = state.at + state.along * (stop + setback);
                for roll in 0..ROLLS {
                    let Some(next) =
                        bent(&state, *stop, *angle, roll, corner, setback, radius_mm, field, floor)
                    else {
                        continue;
                    };
                    let ahead = flood.from(field, &next.at);
                    // Heading away from the goal costs what turning round would.
                    if !ahead.is_finite() {
                        continue;
                    }
                    let facing = (on(&ask.end, bending.last_mm + radius_mm) - next.at)
                        .try_normalize(1e-9)
                        .map_or(1.0, |way| way.dot(&next.along));
                    let cost = next.length_mm
                        + ahead
                        + BEND_MM * next.corners.len() as f64
                        + radius_mm * (1.0 - facing) / 2.0;
                    let key = key(&next);
                    let best = seen.entry(key).or_insert(f64::INFINITY);
                    if cost < *best - 1e-9 {
                        *best = cost;
                        number += 1;
                        heap.push(Open { cost, number, state: next });
                    }
                }
            }
        }
    }
    found
}

/// A state after one more straight and bend; `None` where that looks blocked.
#[allow(clippy::too_many_arguments)]
fn bent(
    state: &State,
    stop_mm: f64,
    angle_rad: f64,
    roll: usize,
    corner: Point3<f64>,
    setback_mm: f64,
    radius_mm: f64,
    field: &Field,
    floor_mm: f64,
) -> Option<State> {
    let into = Unit::new_unchecked(state.along);
    let mut least = Vector3::zeros();
    least[state.along.iamin()] = 1.0;
    let across = (least - state.along * state.along.dot(&least)).normalize();
    let roll = std::f64::consts::TAU * roll as f64 / ROLLS as f64;
    let across = UnitQuaternion::from_axis_angle(&into, roll) * across;
    let from = corner - state.along * setback_mm;
    let steps = (radius_mm * angle_rad / 20.0).ceil() as usize;
    for step in 1..=steps {
        let (sin, cos) = (angle_rad * step as f64 / steps as f64).sin_cos();
        let point = from + (state.along * sin + across * (1.0 - cos)) * radius_mm;
        if field.about(&point) < floor_mm {
            return None;
        }
    }
    let along = state.along * angle_rad.cos() + across * angle_rad.sin();
    let mut corners = state.corners.clone();
    corners.push(corner);
    Some(State {
        at: corner + along * setback_mm,
        along: along.normalize(),
        corners,
        length_mm: state.length_mm + stop_mm + radius_mm * angle_rad,
    })
}

/// Keeps the most promising, each unlike those before it.
pub(super) fn keep_best(candidates: &mut Vec<Candidate>, most: usize) {
    let score = |one: &Candidate| {
        one.length_mm - 4.0 * one.room_mm.min(15.0) + BEND_MM * one.chain.corners.len() as f64
    };
    candidates.sort_by(|a, b| score(a).total_cmp(&score(b)));
    let mut kept: Vec<Candidate> = Vec::new();
    for one in candidates.drain(..) {
        if kept.len() >= most {
            break;
        }
        if kept.iter().all(|other| unlike(&other.chain, &one.chain)) {
            kept.push(one);
        }
    }
    *candidates = kept;
}

/// Whether two chains differ by more than refining would move them.
pub(super) fn unlike(one: &Chain, other: &Chain) -> bool {
    one.corners.len() != other.corners.len()
        || one.radii_mm.iter().zip(&other.radii_mm).any(|(a, b)| (a - b).abs() > 0.1)
        || one.corners.iter().zip(&other.corners).any(|(a, b)| (a - b).norm() > 60.0)
}
