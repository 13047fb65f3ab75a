//! How a hose gives way over the movement of its ends: looked at on a grid of poses, with a bound that is no proof between.

use rayon::prelude::*;

use crate::clearance::IndexedShape;
use crate::hose::{Hose, HoseError, Port, Relaxed};
use crate::motion::{Freedom, Movement};
use crate::scene::{Body, HoseRun, Scene, hose_grown, hose_shape};
use crate::space::Pose;

/// Poses stand so near that the last port moves no more than this from one to the next, mm, as far as [`MOST_STEPS`] allow.
const STEP_MM: f64 = 5.0;
/// Fewest and most poses of one freedom.
const MOST_STEPS: (usize, usize) = (3, 7);
/// Most poses of all.
const MOST_POSES: usize = 150;
/// Between two poses a point is taken to move by no more than this share of what it moves from one to the other: half the way,
/// and half as much again. It covers a hose that is nearly pulled straight, whose bulge grows with the square root of what
/// it has to spare: 0.71 of a step's growth lies in the step's first half.
const BETWEEN: f64 = 0.75;

/// How a hose gives way over the movement of its ends.
#[derive(Clone, Debug)]
pub(in crate::check) struct Sway {
    /// With everything at rest.
    pub rest: Result<Relaxed, HoseError>,
    /// Over the movement; none when both ends ride on one carrier.
    pub cells: Vec<Cell>,
    /// How far any of its points goes from where it is at rest, what may lie between the poses included, mm.
    pub most_mm: f64,
}

/// A carrier by number, the values of its freedoms where it was looked at, and the ranges that this stands for.
type Stand = (usize, Vec<f64>, Vec<(f64, f64)>);

/// Poses around one that was looked at.
#[derive(Clone, Debug)]
pub(in crate::check) struct Cell {
    /// The hose's own carrier and that of its last end.
    pub carriers: [Stand; 2],
    /// The shape there.
    pub found: Result<Relaxed, HoseError>,
    /// It as a solid, in the body's frame.
    pub shape: Option<IndexedShape>,
    /// The same, as much thicker at each place as it may lie off there at the poses around.
    pub grown: Option<IndexedShape>,
    /// What may lie between the poses. An estimate.
    pub between: Between,
}

/// By how much figures may differ between poses that were looked at.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::check) struct Between {
    /// Of each node's place, mm.
    pub places_mm: Vec<f64>,
    /// Of the greatest curvature, 1 / mm.
    pub curvature: f64,
    /// Of the least fall, rad.
    pub fall_rad: f64,
}

impl Between {
    /// Of any place, mm.
    pub fn place_mm(&self) -> f64 {
        self.places_mm.iter().copied().fold(0.0, f64::max)
    }
}

/// Values of one freedom that are looked at.
#[derive(Clone, Debug)]
struct Steps {
    low: f64,
    high: f64,
    count: usize,
}

impl Steps {
    fn value(&self, at: usize) -> f64 {
        if self.count < 2 {
            return (self.low + self.high) / 2.0;
        }
        self.low + (self.high - self.low) * at as f64 / (self.count - 1) as f64
    }

    /// Half a step to either side, within the range.
    fn range(&self, at: usize) -> (f64, f64) {
        let half = (self.high - self.low) / (self.count.max(2) - 1) as f64 / 2.0;
        ((self.value(at) - half).max(self.low), (self.value(at) + half).min(self.high))
    }
}

/// How a body gives way when it is a hose; `None` for all others.
pub(in crate::check) fn sway_of(scene: &Scene, body: &Body) -> Option<Sway> {
    let run = body.hose.as_ref()?;
    let rest = run.hose.relaxed();
    let mut sway = Sway { rest, cells: Vec::new(), most_mm: 0.0 };
    let other = run.to_carrier.filter(|other| *other != body.carrier);
    if let (Ok(rest), Some(other), Ok(held)) = (&sway.rest, other, run.hose.held()) {
        let steps = steps_of(scene, body, run, other);
        let counts: Vec<usize> = steps.iter().map(|steps| steps.count).collect();
        let own = scene.carriers[body.carrier].movement.freedoms.len();
        let all: usize = counts.iter().product();
        sway.cells = (0..all)
            .into_par_iter()
            .map(|number| {
                let at = digits(number, &counts);
                let values: Vec<f64> = steps.iter().zip(&at).map(|(steps, at)| steps.value(*at)).collect();
                let ranges: Vec<(f64, f64)> =
                    steps.iter().zip(&at).map(|(steps, at)| steps.range(*at)).collect();
                let moved = moved(scene, body, &held, (&values[..own], other, &values[own..]));
                let found = moved.relaxed_from(rest).or_else(|_| moved.relaxed());
                let part = |from: usize, to: usize| (values[from..to].to_vec(), ranges[from..to].to_vec());
                let ((ours, our_ranges), (theirs, their_ranges)) = (part(0, own), part(own, values.len()));
                Cell {
                    carriers: [(body.carrier, ours, our_ranges), (other, theirs, their_ranges)],
                    shape: found.as_ref().ok().map(|found| IndexedShape::new(hose_shape(found).into())),
                    found,
                    grown: None,
                    between: Between::default(),
                }
            })
            .collect();
        widen(&mut sway.cells, &counts, run.hose.length_mm);
        for cell in &mut sway.cells {
            let grown =
                |found: &Relaxed| IndexedShape::new(hose_grown(found, &cell.between.places_mm).into());
            cell.grown = cell.found.as_ref().ok().map(grown);
        }
        let far = |cell: &Cell| {
            let found = cell.found.as_ref();
            let apart = found.map_or(0.0, |found| apart_mm(rest, found).fold(0.0, f64::max));
            apart + cell.between.place_mm()
        };
        sway.most_mm = sway.cells.iter().map(far).fold(0.0, f64::max);
    }
    Some(sway)
}

/// Grid steps of the freedoms of the body's own carrier and of the other.
fn steps_of(scene: &Scene, body: &Body, run: &HoseRun, other: usize) -> Vec<Steps> {
    let at = body.world_from_body * run.hose.to.at;
    let freedoms = |carrier: usize| &scene.carriers[carrier].movement.freedoms;
    let mut steps: Vec<Steps> = freedoms(body.carrier)
        .iter()
        .chain(freedoms(other))
        .map(|freedom| {
            let (low, high) = freedom.range();
            // What this freedom alone moves the port by, along its arc.
            let way_mm = match freedom {
                Freedom::Turn { axis, .. } => axis.distance(&at) * (high - low),
                Freedom::Slide { .. } => high - low,
            };
            let count = ((way_mm / STEP_MM).ceil() as usize + 1).clamp(MOST_STEPS.0, MOST_STEPS.1);
            Steps { low, high, count: if high > low { count } else { 1 } }
        })
        .collect();
    while steps.iter().map(|steps| steps.count).product::<usize>() > MOST_POSES {
        let Some(most) = steps.iter_mut().filter(|steps| steps.count > 2).max_by_key(|steps| steps.count)
        else {
            break;
        };
        most.count -= 1;
    }
    steps
}

/// The digits of a number, the first freedom slowest.
fn digits(mut number: usize, counts: &[usize]) -> Vec<usize> {
    let mut at: Vec<usize> = counts
        .iter()
        .rev()
        .map(|count| {
            let digit = number % count;
            number /= count;
            digit
        })
        .collect();
    at.reverse();
    at
}

/// What may lie between the poses: of each freedom a share of what differs to the neighbours along it; where a neighbour has
/// no shape, no point lies farther off than the hose is long.
fn widen(cells: &mut [Cell], counts: &[usize], length_mm: f64) {
    let mut stride = 1;
    let mut all = vec![Between::default(); cells.len()];
    for count in counts.iter().rev() {
        for number in 0..cells.len() {
            let Ok(here) = &cells[number].found else { continue };
            let digit = number / stride % count;
            let mut most = Between { places_mm: vec![0.0; here.points.len()], ..Between::default() };
            let before = (digit > 0).then(|| number - stride);
            let after = (digit + 1 < *count).then(|| number + stride);
            for neighbour in before.into_iter().chain(after) {
                let Ok(there) = &cells[neighbour].found else {
                    most.places_mm.fill(length_mm);
                    continue;
                };
                for (most, apart) in most.places_mm.iter_mut().zip(apart_mm(here, there)) {
                    *most = most.max(BETWEEN * apart);
                }
                let curvature = |shape: &Relaxed| 1.0 / shape.tightest().radius_mm;
                most.curvature = most.curvature.max(BETWEEN * (curvature(here) - curvature(there)).abs());
                let fall = |shape: &Relaxed| shape.fall().least_rad;
                most.fall_rad = most.fall_rad.max(BETWEEN * (fall(here) - fall(there)).abs());
            }
            let sum = &mut all[number];
            sum.places_mm.resize(most.places_mm.len(), 0.0);
            sum.places_mm.iter_mut().zip(&most.places_mm).for_each(|(sum, most)| *sum += most);
            sum.curvature += most.curvature;
            sum.fall_rad += most.fall_rad;
        }
        stride *= count;
    }
    for (cell, between) in cells.iter_mut().zip(all) {
        cell.between = between;
    }
}

/// How far the points of one shape lie from those of another, each from its own.
fn apart_mm<'a>(one: &'a Relaxed, other: &'a Relaxed) -> impl Iterator<Item = f64> + 'a {
    one.points.iter().zip(&other.points).map(|(p, q)| (q - p).norm())
}

/// The hose as its own carrier sees it, its last end gone with what that rides on.
pub(super) fn moved(
    scene: &Scene,
    body: &Body,
    hose: &Hose,
    (own, other, others): (&[f64], usize, &[f64]),
) -> Hose {
    let world_from_own: Pose = scene.carriers[body.carrier].movement.world_from_rest(own);
    let world_from_other: Pose = scene.carriers[other].movement.world_from_rest(others);
    let body_from_end =
        body.world_from_body.inverse() * world_from_own.inverse() * world_from_other * body.world_from_body;
    let to = Port { at: body_from_end * hose.to.at, out: body_from_end * hose.to.out };
    let up = (world_from_own * body.world_from_body).rotation.inverse() * nalgebra::Vector3::z_axis();
    Hose { to, up, ..hose.clone() }
}

impl Cell {
    /// Carriers by name with the values of their freedoms.
    pub fn values(&self, scene: &Scene) -> Vec<(String, Vec<f64>)> {
        self.carriers
            .iter()
            .map(|(carrier, values, _)| (scene.carriers[*carrier].name.clone(), values.clone()))
            .collect()
    }

    /// A carrier's movement within the cell, or at its very middle; all of it for a carrier that no end of the hose rides on.
    pub fn movement(&self, scene: &Scene, carrier: usize, within: Within) -> Movement {
        let mut movement = scene.carriers[carrier].movement.clone();
        if let Some((_, values, ranges)) = self.carriers.iter().find(|(number, ..)| *number == carrier) {
            for ((freedom, value), range) in movement.freedoms.iter_mut().zip(values).zip(ranges) {
                let (low, high) = if within == Within::Cell { *range } else { (*value, *value) };
                match freedom {
                    Freedom::Turn { from_rad, to_rad, .. } => (*from_rad, *to_rad) = (low, high),
                    Freedom::Slide { from_mm, to_mm, .. } => (*from_mm, *to_mm) = (low, high),
                }
            }
        }
        movement
    }
}

/// Which poses of a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::check) enum Within {
    /// All that it stands for.
    Cell,
    /// The one that was looked at.
    Look,
}
