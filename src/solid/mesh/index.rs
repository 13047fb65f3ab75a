//! Asking a mesh about one point: what is nearest, and how often the surface winds round it.

use std::f64::consts::PI;
use std::ops::ControlFlow;

use nalgebra::{Matrix3, Point3, Vector3};

use super::super::tree::BoxTree;
use super::super::triangle::{closest, half_solid_angle, nearest, normal};
use super::super::{Closest, extent};
use crate::space::{Bounds, Pose};

/// Directions of rays, none along anything that people build along.
const WAYS: [[f64; 3]; 6] = [
    [0.141592653, 0.718281828, 0.577215664],
    [-0.691408372, 0.414213562, 0.618033988],
    [0.302585092, -0.732050807, 0.915965594],
    [-0.236067977, -0.202056903, 0.645751311],
    [0.442695040, 0.261497212, -0.870588379],
    [-0.534120123, 0.850936221, -0.316987298],
];

/// A tree over a mesh's triangles.
#[derive(Clone, Debug)]
pub(super) struct MeshIndex {
    tree: BoxTree,
    corners: Vec<[Point3<f64>; 3]>,
    thickness_mm: f64,
}

impl MeshIndex {
    /// Over all triangles; one whose indices do not hold is left out.
    pub(super) fn new(vertices: &[Point3<f64>], triangles: &[[u32; 3]], thickness_mm: f64) -> Self {
        let corners: Vec<[Point3<f64>; 3]> = triangles
            .iter()
            .filter_map(|indices| {
                let [Some(&a), Some(&b), Some(&c)] = indices.map(|index| vertices.get(index as usize)) else {
                    return None;
                };
                Some([a, b, c])
            })
            .collect();
        let boxes: Vec<Bounds> = corners
            .iter()
            .map(|front| {
                let bounds = extent::of_points(front, &Pose::identity());
                if thickness_mm == 0.0 {
                    return bounds;
                }
                let shift = normal(front).into_inner() * thickness_mm;
                bounds.union(&extent::of_points(&front.map(|corner| corner - shift), &Pose::identity()))
            })
            .collect();
        MeshIndex { tree: BoxTree::new(&boxes), corners, thickness_mm }
    }

    /// The nearest triangle's nearest point. Of thick triangles that overlap, seen from inside, the
    /// one in which the point lies deepest.
    pub(super) fn closest(&self, point: &Point3<f64>) -> Closest {
        let mut best: Option<(f64, u32)> = None;
        self.tree.nearest(point, f64::INFINITY, |index| {
            let corners = &self.corners[index as usize];
            let distance = if self.thickness_mm > 0.0 {
                closest(point, corners, self.thickness_mm).distance_mm
            } else {
                (point - nearest(point, corners)).norm()
            };
            if best.is_none_or(|(least, _)| distance < least) {
                best = Some((distance, index));
            }
            // Once inside, only boxes that hold the point can be deeper.
            best.map_or(f64::INFINITY, |(least, _)| least.max(0.0))
        });
        best.map_or(Closest::NOWHERE, |(_, index)| {
            closest(point, &self.corners[index as usize], self.thickness_mm)
        })
    }

    /// How often the surface winds round a point: 1 inside a closed surface that faces outward, 0
    /// outside.
    ///
    /// Counts the crossings of one ray, out less in. Every vertex is projected by the same sum, and
    /// a side's sign is exactly opposite for the two triangles that share it, so no crossing is lost
    /// or counted twice. A ray that meets a side exactly gives way to another.
    pub(super) fn winding(&self, point: &Point3<f64>) -> i64 {
        WAYS.iter().find_map(|way| self.crossings(point, &Vector3::from(*way))).unwrap_or_else(|| {
            let halves: f64 = self.corners.iter().map(|corners| half_solid_angle(point, corners)).sum();
            (halves / (2.0 * PI)).round() as i64
        })
    }

    /// Crossings out less crossings in; nothing if the ray meets a side or corner.
    fn crossings(&self, point: &Point3<f64>, way: &Vector3<f64>) -> Option<i64> {
        let along = way.normalize();
        let across = super::super::sweep::perpendicular(&along).into_inner();
        let to_ray =
            Matrix3::from_rows(&[across.transpose(), along.cross(&across).transpose(), along.transpose()]);
        let mut winding = Some(0);
        self.tree.along_ray(point, &along, |index| {
            let [a, b, c] = self.corners[index as usize].map(|corner| to_ray * (corner - point));
            let cross = |p: &Vector3<f64>, q: &Vector3<f64>| p.x * q.y - p.y * q.x;
            let weights = [cross(&b, &c), cross(&c, &a), cross(&a, &b)];
            let up = weights.iter().all(|weight| *weight >= 0.0);
            let down = weights.iter().all(|weight| *weight <= 0.0);
            if !up && !down {
                return ControlFlow::Continue(());
            }
            if weights.contains(&0.0) {
                // Met edge on or at a corner. Well behind the point it does not matter.
                if a.z < 0.0 && b.z < 0.0 && c.z < 0.0 {
                    return ControlFlow::Continue(());
                }
                winding = None;
                return ControlFlow::Break(());
            }
            let height = weights[0] * a.z + weights[1] * b.z + weights[2] * c.z;
            if (height > 0.0) == up {
                winding = winding.map(|count: i64| count + if up { 1 } else { -1 });
            }
            ControlFlow::Continue(())
        });
        winding
    }
}
