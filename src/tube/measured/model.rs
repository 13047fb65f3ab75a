//! The tube that a fit moves about: ends, corners and radii, however badly they still fit.

use nalgebra::{DVector, Point3, Unit, Vector3};

use crate::solid::{Bend, Leg};
use crate::tube::nearest::nearest_along_mm;

/// Corners and radii; legs may still overlap while a fit is under way.
#[derive(Clone, Debug)]
pub(super) struct Model {
    pub points: Vec<Point3<f64>>,
    pub radii_mm: Vec<f64>,
}

impl Model {
    /// Number of parameters: three a point, then one a radius.
    pub(super) fn size(&self) -> usize {
        3 * self.points.len() + self.radii_mm.len()
    }

    /// The model after a step.
    pub(super) fn stepped(&self, step: &DVector<f64>) -> Model {
        let count = self.points.len();
        let points = self
            .points
            .iter()
            .enumerate()
            .map(|(i, p)| p + Vector3::new(step[3 * i], step[3 * i + 1], step[3 * i + 2]))
            .collect();
        let radii_mm =
            self.radii_mm.iter().enumerate().map(|(i, r)| (r + step[3 * count + i]).max(r / 2.0)).collect();
        Model { points, radii_mm }
    }

    /// Its legs; a straight that its neighbours' setbacks overrun has no length.
    pub(super) fn legs(&self) -> Vec<Leg> {
        let mut legs = Vec::new();
        let last = self.points.len() - 1;
        let along: Vec<Vector3<f64>> =
            self.points.windows(2).map(|pair| (pair[1] - pair[0]).normalize()).collect();
        let mut at = self.points[0];
        for corner in 1..=last {
            let bent = (corner < last).then(|| {
                let axis = along[corner - 1].cross(&along[corner]);
                let turn = axis.norm().atan2(along[corner - 1].dot(&along[corner]));
                (axis, turn)
            });
            let radius = if corner < last { self.radii_mm[corner - 1] } else { 0.0 };
            let setback = bent.map_or(0.0, |(_, turn)| radius * (turn / 2.0).tan());
            let until = self.points[corner] - along[corner - 1] * setback;
            if (until - at).dot(&along[corner - 1]) > 1e-9 {
                legs.push(Leg::Straight { from: at, to: until });
            }
            at = until;
            if let Some((axis, turn)) = bent
                && turn > 1e-9
            {
                let axis = Unit::new_normalize(axis);
                let start = Unit::new_normalize(along[corner - 1].cross(&axis));
                let center = until - start.into_inner() * radius;
                legs.push(Leg::Bend(Bend { center, axis, start, radius_mm: radius, sweep_rad: turn }));
                at = self.points[corner] + along[corner] * setback;
            }
        }
        legs
    }

    /// From the nearest place on the line to each point; the first and last straights run on past the ends,
    /// for how far a pipe was measured says nothing about where it is.
    pub(super) fn offsets(&self, points: &[Point3<f64>]) -> Vec<Vector3<f64>> {
        let legs = self.legs();
        points.iter().map(|point| offset(&legs, point)).collect()
    }
}

fn offset(legs: &[Leg], point: &Point3<f64>) -> Vector3<f64> {
    let mut best = Vector3::repeat(f64::INFINITY);
    for (index, leg) in legs.iter().enumerate() {
        let mut off = point - leg.point_at(nearest_along_mm(leg, point));
        for (is_end, at, outward) in [
            (index == 0, 0.0, -leg.tangent_at(0.0).into_inner()),
            (index + 1 == legs.len(), leg.length_mm(), leg.tangent_at(leg.length_mm()).into_inner()),
        ] {
            let from = point - leg.point_at(at);
            let past = from.dot(&outward);
            if is_end && past > 0.0 {
                let beside = from - outward * past;
                if beside.norm_squared() < off.norm_squared() {
                    off = beside;
                }
            }
        }
        if off.norm_squared() < best.norm_squared() || !best.x.is_finite() {
            best = off;
        }
    }
    best
}
