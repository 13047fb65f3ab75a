//! Area, volume and centres of a mesh, by adding up its triangles.

use nalgebra::{Point3, Vector3};

use super::super::triangle::{double_area, six_volume};
use crate::space::Bounds;

/// What a walk over all triangles adds up to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in super::super) struct Sums {
    /// mm^2.
    pub(in super::super) area_mm2: f64,
    /// mm^3, by the divergence theorem: meaningful for a closed surface, negative inside out.
    pub(in super::super) volume_mm3: f64,
    pub(in super::super) center_of_volume: Point3<f64>,
    pub(in super::super) center_of_area: Point3<f64>,
    /// Normals weighted by area, over the area.
    pub(in super::super) mean_normal: Vector3<f64>,
}

impl Default for Sums {
    fn default() -> Self {
        Sums {
            area_mm2: 0.0,
            volume_mm3: 0.0,
            center_of_volume: Point3::origin(),
            center_of_area: Point3::origin(),
            mean_normal: Vector3::zeros(),
        }
    }
}

impl Sums {
    /// Over triangles whose indices must hold (one that does not is left out).
    pub(in super::super) fn of(vertices: &[Point3<f64>], triangles: &[[u32; 3]]) -> Self {
        let bounds = Bounds::of_points(vertices);
        if bounds.is_empty() {
            return Sums::default();
        }
        // From the middle, so that far-off coordinates cost no digits.
        let middle = bounds.center();
        let (mut double, mut sixfold) = (0.0, 0.0);
        let (mut area_moment, mut volume_moment) = (Vector3::zeros(), Vector3::zeros());
        let mut normals = Vector3::zeros();
        for indices in triangles {
            let [Some(&a), Some(&b), Some(&c)] = indices.map(|index| vertices.get(index as usize)) else {
                continue;
            };
            let corners = [a, b, c];
            let across = double_area(&corners);
            let part = six_volume(&middle, &corners);
            let corner_sum = (a - middle) + (b - middle) + (c - middle);
            double += across.norm();
            normals += across;
            sixfold += part;
            area_moment += corner_sum * (across.norm() / 3.0);
            volume_moment += corner_sum * (part / 4.0);
        }
        let over =
            |moment: Vector3<f64>, total: f64| if total == 0.0 { Vector3::zeros() } else { moment / total };
        Sums {
            area_mm2: double / 2.0,
            volume_mm3: sixfold / 6.0,
            center_of_volume: middle + over(volume_moment, sixfold),
            center_of_area: middle + over(area_moment, double),
            mean_normal: over(normals, double),
        }
    }
}
