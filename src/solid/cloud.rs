//! A cloud of measured points.

use std::f64::consts::PI;

use nalgebra::{Point3, Vector3};

use crate::space::{Bounds, Pose};

use super::bend::round_side;
use super::cache::Cache;
use super::error::{finite, positive};
use super::tree::BoxTree;
use super::{Ball, Closest, Mesh, MeshKind, Piece, ShapeError, Solid, extent};

/// A cloud of measured points, each a ball.
///
/// Queries keep a tree of the points they saw the first time: make a new cloud instead of changing
/// the points of one.
///
/// Closest point: that of the ball with the nearest centre; from a centre itself, toward +x.
#[derive(Clone, Debug, PartialEq)]
pub struct Cloud {
    /// Centres, mm.
    pub points: Vec<Point3<f64>>,
    /// Radius of every ball, mm.
    pub radius_mm: f64,
    tree: Cache<BoxTree>,
}

impl Cloud {
    /// A cloud of points that all get the same radius.
    pub fn new(points: Vec<Point3<f64>>, radius_mm: f64) -> Self {
        Cloud { points, radius_mm, tree: Cache::default() }
    }

    fn ball(&self) -> Ball {
        Ball { radius_mm: self.radius_mm }
    }
}

impl Solid for Cloud {
    fn validate(&self) -> Result<(), ShapeError> {
        positive("the radius of the cloud's points", self.radius_mm)?;
        if self.points.is_empty() {
            return Err(ShapeError::TooFew { what: "points of a cloud", found: 0, needed: 1 });
        }
        finite("point", &self.points)
    }

    fn bounds_in(&self, world_from_shape: &Pose) -> Bounds {
        extent::of_points(&self.points, world_from_shape).grown(self.radius_mm)
    }

    fn volume_mm3(&self) -> f64 {
        self.ball().volume_mm3() * self.points.len() as f64
    }

    fn area_mm2(&self) -> f64 {
        4.0 * PI * self.radius_mm.powi(2) * self.points.len() as f64
    }

    fn center_of_mass(&self) -> Point3<f64> {
        let sum: Vector3<f64> = self.points.iter().map(|point| point.coords).sum();
        Point3::from(sum / (self.points.len().max(1) as f64))
    }

    fn closest(&self, point: &Point3<f64>) -> Closest {
        let tree = self.tree.get_or(|| {
            let boxes: Vec<Bounds> = self.points.iter().map(|&at| Bounds { min: at, max: at }).collect();
            BoxTree::new(&boxes)
        });
        let mut best: Option<(f64, u32)> = None;
        tree.nearest(point, f64::INFINITY, |index| {
            let distance = self.points.get(index as usize).map_or(f64::INFINITY, |at| (point - at).norm());
            if best.is_none_or(|(least, _)| distance < least) {
                best = Some((distance, index));
            }
            best.map_or(f64::INFINITY, |(least, _)| least)
        });
        best.and_then(|(_, index)| self.points.get(index as usize))
            .map_or(Closest::NOWHERE, |center| round_side(point, center, self.radius_mm, Vector3::x_axis()))
    }

    fn tessellate(&self, chord_mm: f64) -> Mesh {
        let ball = self.ball().tessellate(chord_mm);
        if self.points.is_empty() {
            return Mesh::new(Vec::new(), Vec::new(), MeshKind::Closed);
        }
        Mesh::joined(self.points.iter().map(|at| ball.moved(&Pose::translation(at.x, at.y, at.z))))
    }

    fn pieces(&self) -> Vec<Piece> {
        self.points.iter().map(|&center| Piece::Ball { center, radius_mm: self.radius_mm }).collect()
    }
}
