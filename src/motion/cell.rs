//! A box of movement values, and what moving over it can do to a body.
//!
//! Over a turn from one angle to another a point stays within `rho (1 - cos(angle / 2))` of the
//! segment between its ends, `rho` its distance from the axis; over a slide it stays on the segment.
//! So over a box of values a body stays within the hull of its poses at the box's corners, grown
//! by the sum of those excesses: what a cell hides falls fourfold whenever it is halved.

use std::rc::Rc;

use nalgebra::{Point3, Vector3};

use super::{Freedom, Movement};
use crate::clearance::convex::Convex;
use crate::space::Pose;

/// One rider's share of a cell: its freedoms' ranges and its poses at their corners.
#[derive(Clone, Debug)]
pub(super) struct Share {
    pub ranges: Vec<(f64, f64)>,
    pub center: Pose,
    pub corners: Vec<Pose>,
    /// For each freedom, the movement of those listed after it at the centre values.
    inner_at_center: Vec<Pose>,
}

/// What a share does to a body within a ball.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sway {
    /// How far the body may reach beyond the hull of its corner poses, mm.
    pub excess_mm: f64,
    /// How far any of its points may be from where it is at the centre values, mm.
    pub travel_mm: f64,
    /// The freedom that moves it most, and by how much.
    pub most: (usize, f64),
}

impl Share {
    pub fn whole(movement: &Movement, world_from_solid: &Pose) -> Rc<Self> {
        Self::over(movement, world_from_solid, movement.freedoms.iter().map(Freedom::range).collect())
    }

    pub fn over(movement: &Movement, world_from_solid: &Pose, ranges: Vec<(f64, f64)>) -> Rc<Self> {
        let middle: Vec<f64> = ranges.iter().map(|(low, high)| (low + high) / 2.0).collect();
        let count = ranges.len();
        let corners = (0..1usize << count)
            .map(|bits| {
                let values: Vec<f64> = ranges
                    .iter()
                    .enumerate()
                    .map(|(i, r)| if bits >> i & 1 == 0 { r.0 } else { r.1 })
                    .collect();
                movement.world_from_rest(&values) * world_from_solid
            })
            .collect();
        let mut inner_at_center = vec![*world_from_solid; count];
        for i in (0..count.saturating_sub(1)).rev() {
            inner_at_center[i] = movement.freedoms[i + 1].pose(middle[i + 1]) * inner_at_center[i + 1];
        }
        let center = movement.world_from_rest(&middle) * world_from_solid;
        Rc::new(Share { ranges, center, corners, inner_at_center })
    }

    pub fn middle(&self) -> Vec<f64> {
        self.ranges.iter().map(|(low, high)| (low + high) / 2.0).collect()
    }

    /// The values at a corner, numbered as [`Self::corners`] are.
    pub fn corner_values(&self, corner: usize) -> Vec<f64> {
        self.ranges.iter().enumerate().map(|(i, r)| if corner >> i & 1 == 0 { r.0 } else { r.1 }).collect()
    }

    /// What the share does to all that lies within a ball of the solid's frame.
    pub fn sway(&self, movement: &Movement, center: &Point3<f64>, radius_mm: f64) -> Sway {
        let mut sway = Sway { excess_mm: 0.0, travel_mm: 0.0, most: (0, -1.0) };
        for (i, freedom) in movement.freedoms.iter().enumerate().rev() {
            let width = self.ranges[i].1 - self.ranges[i].0;
            let (excess, travel) = match freedom {
                Freedom::Turn { axis, .. } => {
                    // Wherever the freedoms after this one have taken the ball within the cell.
                    let rho = axis.distance(&(self.inner_at_center[i] * center)) + radius_mm + sway.travel_mm;
                    let quarter = (width / 4.0).min(std::f64::consts::FRAC_PI_2);
                    (rho * 2.0 * quarter.sin().powi(2), rho * (2.0 * quarter.sin()))
                }
                Freedom::Slide { .. } => (0.0, width / 2.0),
            };
            sway.excess_mm += excess;
            sway.travel_mm += travel;
            if travel > sway.most.1 {
                sway.most = (i, travel);
            }
        }
        sway
    }

    /// How far a body reaches along a direction at most, over the cell, less its excess; and at which corner.
    pub fn reach(&self, body: &Convex, toward: &Vector3<f64>) -> (f64, usize) {
        self.corners
            .iter()
            .map(|pose| body.reach(&(pose.rotation.inverse() * toward)) + pose.translation.vector.dot(toward))
            .enumerate()
            .fold((f64::NEG_INFINITY, 0), |best, (i, reach)| if reach > best.0 { (reach, i) } else { best })
    }

    /// Both halves along one freedom.
    pub fn halves(&self, movement: &Movement, world_from_solid: &Pose, freedom: usize) -> [Rc<Self>; 2] {
        let (low, high) = self.ranges[freedom];
        let middle = (low + high) / 2.0;
        [(low, middle), (middle, high)].map(|range| {
            let mut ranges = self.ranges.clone();
            ranges[freedom] = range;
            Self::over(movement, world_from_solid, ranges)
        })
    }
}
