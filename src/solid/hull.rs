//! The convex hull of points.

mod grid;
mod quick;

use nalgebra::{Point3, Unit, Vector3};

use crate::space::{Bounds, Pose};

use super::cache::Cache;
use super::error::finite;
use super::{Closest, Mesh, MeshKind, Piece, ShapeError, Solid, extent, mesh, triangle};

/// How far apart the planes of one face's triangles may lie, in diagonals of the hull.
const APART: f64 = 2e-8;

/// The convex hull of points.
///
/// Its corners are the points rounded to a grid of 2^-39 of the largest coordinate (2e-9 mm at one
/// metre), on which everything is decided exactly. Queries keep the faces found the first time: make
/// a new hull instead of changing the points of one.
///
/// Closest point: from inside, of equally near faces the first in an order fixed by the points.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::solid::{Hull, Solid};
/// use nalgebra::Point3;
/// let corner = |x, y, z| Point3::new(x, y, z);
/// let hull = Hull::new(vec![corner(0., 0., 0.), corner(6., 0., 0.), corner(0., 6., 0.), corner(0., 0., 6.)]);
/// assert_eq!(hull.volume_mm3(), 36.0); // 6^3 / 6
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Hull {
    /// Points, mm; at least four that are not in one plane.
    pub points: Vec<Point3<f64>>,
    faces: Cache<Result<Faces, ShapeError>>,
}

/// The hull's surface.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Faces {
    /// Corners of the hull.
    pub(super) vertices: Vec<Point3<f64>>,
    /// Counter-clockwise seen from outside.
    pub(super) triangles: Vec<[u32; 3]>,
    /// One plane a triangle: outward normal and its offset along it. Every corner lies behind it.
    pub(super) planes: Vec<(Unit<Vector3<f64>>, f64)>,
}

impl Hull {
    /// The hull of points.
    pub fn new(points: Vec<Point3<f64>>) -> Self {
        Hull { points, faces: Cache::default() }
    }

    /// The corners of the hull, without points inside it.
    pub fn corners(&self) -> &[Point3<f64>] {
        self.faces().map_or(&[], |faces| &faces.vertices)
    }

    fn faces(&self) -> Option<&Faces> {
        self.worked_out().as_ref().ok()
    }

    fn worked_out(&self) -> &Result<Faces, ShapeError> {
        self.faces.get_or(|| {
            finite("hull point", &self.points)?;
            if self.points.len() < 4 {
                let found = self.points.len();
                return Err(ShapeError::TooFew { what: "points of a hull", found, needed: 4 });
            }
            quick::hull(&self.points)
        })
    }

    fn sums(&self) -> mesh::Sums {
        self.faces()
            .map_or_else(mesh::Sums::default, |faces| mesh::Sums::of(&faces.vertices, &faces.triangles))
    }
}

impl Solid for Hull {
    fn validate(&self) -> Result<(), ShapeError> {
        self.worked_out().as_ref().map(|_| ()).map_err(ShapeError::clone)
    }

    fn bounds_in(&self, world_from_shape: &Pose) -> Bounds {
        extent::of_points(self.corners(), world_from_shape)
    }

    fn volume_mm3(&self) -> f64 {
        self.sums().volume_mm3
    }

    fn area_mm2(&self) -> f64 {
        self.sums().area_mm2
    }

    fn center_of_mass(&self) -> Point3<f64> {
        self.sums().center_of_volume
    }

    /// Inside, the nearest face plane; outside, the nearest of the triangles that face the point.
    fn closest(&self, point: &Point3<f64>) -> Closest {
        let Some(faces) = self.faces() else { return Closest::NOWHERE };
        let mut behind = Closest { distance_mm: f64::NEG_INFINITY, ..Closest::NOWHERE };
        for (normal, offset) in &faces.planes {
            let distance_mm = normal.dot(&point.coords) - offset;
            if distance_mm > behind.distance_mm {
                let point = point - normal.into_inner() * distance_mm;
                behind = Closest { point, distance_mm, normal: *normal };
            }
        }
        if behind.distance_mm <= 0.0 {
            return behind;
        }
        // A face of several triangles has a plane of each, which rounding sets apart: a point on the face may lie before the
        // plane of one triangle and behind that of the other, in which it is.
        let apart_mm = APART * Bounds::of_points(&faces.vertices).diagonal_mm();
        let mut before = Closest::NOWHERE;
        for (corners, (normal, offset)) in faces.triangles.iter().zip(&faces.planes) {
            if normal.dot(&point.coords) - offset > -apart_mm {
                let corners = corners.map(|index| faces.vertices[index as usize]);
                before = before.nearer(Closest::outside(point, triangle::nearest(point, &corners), *normal));
            }
        }
        before
    }

    fn tessellate(&self, _chord_mm: f64) -> Mesh {
        let (vertices, triangles) = self
            .faces()
            .map_or_else(Default::default, |faces| (faces.vertices.clone(), faces.triangles.clone()));
        Mesh::new(vertices, triangles, MeshKind::Closed)
    }

    fn pieces(&self) -> Vec<Piece> {
        if self.corners().is_empty() {
            return Vec::new();
        }
        vec![Piece::Hull { points: self.corners().to_vec() }]
    }
}

#[cfg(test)]
mod tests;
