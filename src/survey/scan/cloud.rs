//! Measured points, and the directions in which their surface faces.

use nalgebra::{Point3, Vector3};

use crate::space::Bounds;

/// Measured points, mm, and the directions in which their surface faces.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PointCloud {
    /// Points.
    pub points: Vec<Point3<f64>>,
    /// Unit normals, one a point, zero where unknown; or none at all.
    pub normals: Vec<Vector3<f64>>,
}

impl PointCloud {
    /// Points without normals.
    pub fn new(points: Vec<Point3<f64>>) -> Self {
        PointCloud { points, normals: Vec::new() }
    }

    /// Whether every point has a normal.
    pub fn has_normals(&self) -> bool {
        self.normals.len() == self.points.len() && self.normals.iter().all(|n| n.norm_squared() > 0.25)
    }

    /// The box that holds all points; `None` without points.
    pub fn bounds(&self) -> Option<Bounds> {
        (!self.points.is_empty()).then(|| Bounds::of_points(&self.points))
    }

    /// The points of these numbers, in their order, with their normals; a number that is none is left out.
    pub fn select(&self, indices: &[u32]) -> Self {
        let points = indices.iter().filter_map(|&i| self.points.get(i as usize).copied()).collect();
        let normals = if self.normals.is_empty() {
            Vec::new()
        } else {
            indices.iter().filter_map(|&i| self.normals.get(i as usize).copied()).collect()
        };
        PointCloud { points, normals }
    }
}
