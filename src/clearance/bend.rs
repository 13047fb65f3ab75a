//! Bends: bars swept along an arc, which are not convex.
//!
//! The hull of a sweep is known exactly, so where the other body faces its outside the hull's
//! gap is the bend's gap at once. Where it faces the hollow side the sweep is halved: the hull's
//! excess falls fourfold, and only the halves that could still hold the nearest points go on.
//! Leaves to others: pairs of hulls (`convex`).

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use nalgebra::{Point3, Vector3};

use super::convex::{BendCore, Convex, Core, Disc, Nearest, nearest, overlap, overlap_exit};
use super::part::Part;

/// Signed distance of a point from the solid bend, the surface point and the outward normal there.
pub(crate) fn point_distance(bend: &BendCore, point: &Point3<f64>) -> (f64, Point3<f64>, Vector3<f64>) {
    let offset = point - bend.center;
    let height = bend.z.dot(&offset);
    let angle = bend.angle_of(&offset);
    if angle > bend.to_rad {
        let ends = [bend.disc(bend.from_rad), bend.disc(bend.to_rad)].map(|disc| disc.nearest(point));
        let [a, b] = ends.map(|p| (point - p).norm());
        let (distance, on) = if a <= b { (a, ends[0]) } else { (b, ends[1]) };
        let normal = (point - on).try_normalize(1e-300).unwrap_or(bend.z);
        return (distance, on, normal);
    }
    let out = bend.out(angle);
    let rho = out.dot(&offset);
    let middle = bend.center + out * bend.ring_mm;
    let across = out * (rho - bend.ring_mm) + bend.z * height;
    let from_middle = across.norm();
    let normal = if from_middle > 1e-300 { across / from_middle } else { bend.z };
    let mut best = (from_middle - bend.tube_mm, middle + normal * bend.tube_mm, normal);
    if best.0 < 0.0 && bend.sweep_rad() < std::f64::consts::TAU - 1e-12 {
        for (end, sign) in [(bend.from_rad, -1.0), (bend.to_rad, 1.0)] {
            let disc = bend.disc(end);
            let normal = disc.normal * sign;
            let behind = normal.dot(&(point - disc.center));
            // The end's plane is the surface only where the foot lands on the disc.
            let foot = point - normal * behind;
            if behind <= 0.0 && behind > best.0 && (foot - disc.center).norm() <= disc.radius_mm {
                best = (behind, foot, normal);
            }
        }
    }
    best
}

/// The point of the solid nearest to `point`: itself when inside.
fn nearest_in(part: &Part, point: &Point3<f64>) -> Option<Point3<f64>> {
    match part {
        Part::Convex(_) => None,
        Part::Bend(bend) => {
            let (distance, on, _) = point_distance(bend, point);
            Some(if distance <= 0.0 { *point } else { on })
        }
    }
}

/// How far the sweep's hull may reach beyond the sweep, at most.
fn excess_mm(part: &Part) -> f64 {
    match part {
        Part::Convex(_) => 0.0,
        Part::Bend(bend) => sagitta(bend.sweep_rad()) * (bend.ring_mm + bend.tube_mm),
    }
}

fn sagitta(sweep_rad: f64) -> f64 {
    // 1 - cos(x/2) without cancellation; a sweep over pi has no chord: call it 2.
    if sweep_rad >= std::f64::consts::PI { 2.0 } else { 2.0 * (sweep_rad / 4.0).sin().powi(2) }
}

/// A convex body inside the part, if the sweep is short enough to have one between its end discs.
fn inner(part: &Part) -> Option<Convex> {
    match part {
        Part::Convex(convex) => Some(convex.clone()),
        Part::Bend(bend) => {
            let radius_mm = bend.tube_mm - excess_mm(part);
            (radius_mm > 0.0).then(|| {
                let discs = [bend.from_rad, bend.to_rad].map(|at| Disc { radius_mm, ..bend.disc(at) });
                Convex::new(Core::Discs(discs), 0.0)
            })
        }
    }
}

/// Both halves of a sweep.
pub(crate) fn halves(bend: &BendCore) -> [BendCore; 2] {
    let middle = (bend.from_rad + bend.to_rad) / 2.0;
    [BendCore { to_rad: middle, ..*bend }, BendCore { from_rad: middle, ..*bend }]
}

/// Splits the part whose hull exceeds it more.
fn split(a: &Part, b: &Part) -> [(Part, Part); 2] {
    match (a, b) {
        (Part::Bend(bend), _) if excess_mm(a) >= excess_mm(b) => {
            halves(bend).map(|half| (Part::Bend(half), b.clone()))
        }
        (_, Part::Bend(bend)) => halves(bend).map(|half| (a.clone(), Part::Bend(half))),
        (_, Part::Convex(_)) => [(a.clone(), b.clone()), (a.clone(), b.clone())],
    }
}

/// Sweeps compared at most before the best pair found stands. Only a body that follows a bend's hollow
/// side all along (a bar on the axis of a ring) needs so many; then every pair is as near as the next.
const SWEEPS: usize = 600;

/// As [`super::part::part_gap`], for parts of which one at least is a bend.
pub(crate) fn gap(a: &Part, b: &Part, cutoff_mm: f64) -> Option<Nearest> {
    let mut best: Option<Nearest> = None;
    let mut limit_mm = cutoff_mm;
    let mut open = BinaryHeap::new();
    open.push(Open { hulls: nearest(&a.hull(), &b.hull()), a: a.clone(), b: b.clone(), number: 0 });
    let mut number = 0;
    while let Some(Open { hulls, a, b, .. }) = open.pop() {
        if hulls.gap_mm >= limit_mm || number > SWEEPS {
            break;
        }
        let excess = excess_mm(&a).max(excess_mm(&b));
        if hulls.gap_mm <= 0.0 {
            if let (Some(a), Some(b)) = (inner(&a), inner(&b)) {
                let inner = nearest(&a, &b);
                if inner.gap_mm < 0.0 {
                    return Some(inner);
                }
            }
            if excess <= 1e-10 {
                return Some(hulls);
            }
        } else {
            let real = on_solids(&a, &b, &hulls);
            if real.gap_mm < limit_mm {
                limit_mm = real.gap_mm;
                best = Some(real);
            }
            if limit_mm - hulls.gap_mm <= 1e-10 * (1.0 + hulls.gap_mm) {
                continue;
            }
        }
        for (a, b) in split(&a, &b) {
            let hulls = nearest(&a.hull(), &b.hull());
            number += 1;
            if hulls.gap_mm < limit_mm {
                open.push(Open { hulls, a, b, number });
            }
        }
    }
    best
}

/// Two sweeps whose gap is not known yet.
struct Open {
    hulls: Nearest,
    a: Part,
    b: Part,
    /// Earlier first among equals.
    number: usize,
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
        other.hulls.gap_mm.total_cmp(&self.hulls.gap_mm).then(other.number.cmp(&self.number))
    }
}

/// Carries the hulls' nearest points onto the solids: a pair of true surface points.
fn on_solids(a: &Part, b: &Part, hulls: &Nearest) -> Nearest {
    let mut real = *hulls;
    let mut before = f64::INFINITY;
    // To and fro between the solids: each step shortens the line, quickly where they are curved.
    for _ in 0..30 {
        if let Some(on_a) = nearest_in(a, &real.on_b) {
            real.on_a = on_a;
        }
        if let Some(on_b) = nearest_in(b, &real.on_a) {
            real.on_b = on_b;
        }
        let length = (real.on_b - real.on_a).norm();
        if before - length <= 1e-13 * length {
            break;
        }
        before = length;
    }
    let offset = real.on_b - real.on_a;
    real.gap_mm = offset.norm();
    real.normal = offset.try_normalize(1e-300).unwrap_or(hulls.normal);
    real
}

/// Sub-sweeps looked at in one go, at most; a grazing exit that has not settled by then is a little long.
const EXITS: usize = 4_000;

/// Two sweeps whose hulls overlap at the present travel, and the travel at which the hulls part.
struct Leaving {
    exit_mm: f64,
    a: Part,
    b: Part,
    number: usize,
}

impl PartialEq for Leaving {
    fn eq(&self, other: &Self) -> bool {
        self.number == other.number
    }
}
impl Eq for Leaving {}
impl PartialOrd for Leaving {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Leaving {
    fn cmp(&self, other: &Self) -> Ordering {
        self.exit_mm.total_cmp(&other.exit_mm).then(other.number.cmp(&self.number))
    }
}

/// The least travel from `at_mm` on at which the parts no longer overlap (deeper than rounding); any travel
/// of `limit_mm` and more once it is known to be no less.
///
/// The pair of sub-sweeps whose hulls part last goes first: its hulls' exit is an upper bound on all that is
/// left, the exit of what lies inside both a lower one.
pub(crate) fn exit(a: &Part, b: &Part, travel: &Vector3<f64>, at_mm: f64, limit_mm: f64) -> f64 {
    let mut at = at_mm;
    let mut number = 0;
    loop {
        let before = at;
        let mut open = BinaryHeap::new();
        offer(&mut open, a.clone(), b.clone(), travel, at, &mut number);
        while let Some(Leaving { exit_mm, a, b, .. }) = open.pop() {
            if exit_mm <= at + 1e-10 {
                break;
            }
            if excess_mm(&a).max(excess_mm(&b)) <= 1e-9 || number > EXITS {
                at = exit_mm;
                break;
            }
            if let (Some(ia), Some(ib)) = (inner(&a), inner(&b))
                && overlap(&ia, &ib.shifted(&(travel * at)))
            {
                at = overlap_exit(&ia, &ib, travel).unwrap_or(at).max(at);
                if at >= limit_mm {
                    return at;
                }
            }
            for (a, b) in split(&a, &b) {
                offer(&mut open, a, b, travel, at, &mut number);
            }
        }
        if at <= before + 1e-10 || at >= limit_mm {
            return at;
        }
    }
}

fn offer(
    open: &mut BinaryHeap<Leaving>,
    a: Part,
    b: Part,
    travel: &Vector3<f64>,
    at: f64,
    number: &mut usize,
) {
    let (hull_a, hull_b) = (a.hull(), b.hull());
    *number += 1;
    if overlap(&hull_a, &hull_b.shifted(&(travel * at)))
        && let Some(exit_mm) = overlap_exit(&hull_a, &hull_b, travel)
    {
        open.push(Leaving { exit_mm, a, b, number: *number });
    }
}
