//! Ports and corners: lengths, setbacks, points along the line.

use nalgebra::{Point3, Vector3};

use super::bending::Bending;
use super::{Port, RouteAsk};
use crate::tube::{BendList, CornerLine, TubeError};

/// Under this turn (rad) a corner is drawn as no bend.
const STRAIGHT_RAD: f64 = 1e-7;

/// Bends of less than this are not sought: a bender does not hold so small an angle. `common practice, no source`.
const LEAST_RAD: f64 = 5.0 * std::f64::consts::PI / 180.0;

/// A tube's line: first and last corner on the ports' axes, others anywhere; each bend has its radius.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Chain {
    pub start: Point3<f64>,
    pub end: Point3<f64>,
    /// Corners in order; none for a straight tube.
    pub corners: Vec<Point3<f64>>,
    /// Radius of each bend, mm: as many as corners.
    pub radii_mm: Vec<f64>,
}

/// Which part of the line, and how far through it, from 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Station {
    /// Straight `leg / 2` when even, bend `leg / 2` when odd.
    pub leg: usize,
    pub share: f64,
}

/// A chain laid out: what its legs and bends are.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    points: Vec<Point3<f64>>,
    along: Vec<Vector3<f64>>,
    pub angles: Vec<f64>,
    setbacks: Vec<f64>,
    pub straights: Vec<f64>,
    radii_mm: Vec<f64>,
}

impl Chain {
    /// The variables that may move: distance of the first corner from its port, the corners between, distance of
    /// the last corner from its port. None for fewer than two corners: those have no freedom.
    pub fn variables(&self) -> Vec<f64> {
        let count = self.corners.len();
        if count < 2 {
            return Vec::new();
        }
        let mut out = vec![(self.corners[0] - self.start).norm()];
        for corner in &self.corners[1..count - 1] {
            out.extend(corner.iter());
        }
        out.push((self.corners[count - 1] - self.end).norm());
        out
    }

    /// The chain with other variables.
    pub fn with(&self, ask: &RouteAsk<'_>, variables: &[f64]) -> Chain {
        let mut out = self.clone();
        let count = out.corners.len();
        if count >= 2 && variables.len() == 2 + 3 * (count - 2) {
            out.corners[0] = on(&ask.start, variables[0]);
            for (corner, at) in out.corners[1..count - 1].iter_mut().zip(variables[1..].chunks(3)) {
                *corner = Point3::new(at[0], at[1], at[2]);
            }
            out.corners[count - 1] = on(&ask.end, variables[variables.len() - 1]);
        }
        out
    }

    pub fn layout(&self) -> Layout {
        let mut points = Vec::with_capacity(self.corners.len() + 2);
        points.push(self.start);
        points.extend(&self.corners);
        points.push(self.end);
        let along: Vec<Vector3<f64>> = points
            .windows(2)
            .map(|pair| (pair[1] - pair[0]).try_normalize(1e-12).unwrap_or_else(Vector3::x))
            .collect();
        let angles: Vec<f64> = along
            .windows(2)
            .map(|pair| pair[0].cross(&pair[1]).norm().atan2(pair[0].dot(&pair[1])))
            .collect();
        // A corner that folds back has no end of setback; capped, it still says how wrong it is.
        let setback = |(angle, radius): (&f64, &f64)| radius * (angle.min(3.1) / 2.0).tan();
        let setbacks: Vec<f64> = angles.iter().zip(&self.radii_mm).map(setback).collect();
        let straights = (0..along.len())
            .map(|leg| {
                let taken = |corner: Option<usize>| {
                    corner.and_then(|corner| setbacks.get(corner)).copied().unwrap_or(0.0)
                };
                (points[leg + 1] - points[leg]).norm() - taken(leg.checked_sub(1)) - taken(Some(leg))
            })
            .collect();
        Layout { points, along, angles, setbacks, straights, radii_mm: self.radii_mm.clone() }
    }

    /// The bend list, in the canonical form.
    pub fn bend_list(&self) -> Result<BendList, TubeError> {
        let mut points = vec![self.start];
        points.extend(&self.corners);
        points.push(self.end);
        CornerLine { points, radii_mm: self.radii_mm.clone() }.bend_list()
    }
}

/// A point on a port's axis.
pub(super) fn on(port: &Port, mm: f64) -> Point3<f64> {
    port.at + port.out.into_inner() * mm
}

impl Layout {
    /// Developed length, mm.
    pub fn length_mm(&self) -> f64 {
        self.straights.iter().sum::<f64>() + self.bends().map(|(angle, radius)| angle * radius).sum::<f64>()
    }

    /// Angle and radius of each bend.
    fn bends(&self) -> impl Iterator<Item = (f64, f64)> {
        self.angles.iter().copied().zip(self.radii_mm.iter().copied())
    }

    /// What is left of every rule of bending, mm: under zero is broken. Straights first, then angles.
    pub fn rules(&self, bending: &Bending) -> impl Iterator<Item = f64> {
        let last = self.straights.len() - 1;
        let asked = move |leg: usize| match leg {
            0 if last == 0 => bending.first_mm.min(bending.last_mm),
            0 => bending.first_mm,
            leg if leg == last => bending.last_mm,
            _ => bending.between_mm,
        };
        self.straights
            .iter()
            .enumerate()
            .map(move |(leg, straight)| straight - asked(leg))
            .chain(self.bends().map(|(angle, radius)| (bending.most_rad - angle) * radius))
            .chain(self.bends().map(|(angle, radius)| (angle - LEAST_RAD) * radius))
    }

    /// The least of [`Self::rules`].
    pub fn least_rule(&self, bending: &Bending) -> f64 {
        self.rules(bending).fold(f64::INFINITY, f64::min)
    }

    /// How many parts: straights and bends in turn.
    pub fn legs(&self) -> usize {
        2 * self.angles.len() + 1
    }

    pub fn leg_length_mm(&self, leg: usize) -> f64 {
        if leg.is_multiple_of(2) {
            self.straights[leg / 2].abs()
        } else {
            self.angles[leg / 2] * self.radii_mm[leg / 2]
        }
    }

    /// The point at a station.
    pub fn point(&self, station: Station) -> Point3<f64> {
        let index = station.leg / 2;
        if station.leg.is_multiple_of(2) {
            let before = index.checked_sub(1).map_or(0.0, |corner| self.setbacks[corner]);
            self.points[index] + self.along[index] * (before + self.straights[index] * station.share)
        } else {
            let (into, out) = (&self.along[index], &self.along[index + 1]);
            let from = self.points[index + 1] - into * self.setbacks[index];
            let angle = self.angles[index];
            if angle < STRAIGHT_RAD {
                return from;
            }
            let across = (out - into * angle.cos()) / angle.sin();
            let (sin, cos) = (angle * station.share).sin_cos();
            from + (into * sin + across * (1.0 - cos)) * self.radii_mm[index]
        }
    }
}
