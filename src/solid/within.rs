//! The part of a surface that lies within a box.

use nalgebra::Point3;

use super::cloud::Cloud;
use super::mesh::{Mesh, MeshKind};
use super::shape::Shape;
use crate::space::Bounds;

impl Shape {
    /// The part of the surface that lies within a box of the solid's own frame, as a mesh cut off at the box's faces (no
    /// farther than `chord_mm` from the solid's own surface; a mesh is cut exactly), or as the cloud's points whose centres
    /// lie in it. `None` when there is none. An inside is not kept: the answer is a bare surface, or a patch as thick as the
    /// mesh's own.
    ///
    /// Complexity: linear in the triangles or points.
    pub fn surface_within(&self, bounds: &Bounds, chord_mm: f64) -> Option<Shape> {
        let made;
        let mesh = match self {
            Shape::Cloud(cloud) => {
                let points: Vec<Point3<f64>> =
                    cloud.points.iter().filter(|point| bounds.contains(point)).copied().collect();
                return (!points.is_empty()).then(|| Shape::Cloud(Cloud::new(points, cloud.radius_mm)));
            }
            Shape::Mesh(mesh) => mesh,
            other => {
                made = other.tessellate(chord_mm);
                &made
            }
        };
        let kind = match mesh.kind {
            MeshKind::Closed => MeshKind::Open { thickness_mm: 0.0 },
            open @ MeshKind::Open { .. } => open,
        };
        let (mut vertices, mut triangles) = (Vec::new(), Vec::new());
        for at in 0..mesh.triangles.len() {
            let cut = cut_to(&mesh.corners(at), bounds);
            let first = vertices.len() as u32;
            for k in 2..cut.len() as u32 {
                triangles.push([first, first + k - 1, first + k]);
            }
            if cut.len() > 2 {
                vertices.extend(cut);
            }
        }
        (!triangles.is_empty()).then(|| Shape::Mesh(Mesh::new(vertices, triangles, kind)))
    }
}

/// The part of a triangle within a box: a convex polygon, empty where there is none.
///
/// # Source
/// Sutherland and Hodgman, Communications of the ACM 17 (1974) 32-42.
fn cut_to(corners: &[Point3<f64>; 3], bounds: &Bounds) -> Vec<Point3<f64>> {
    let mut polygon = corners.to_vec();
    for axis in 0..3 {
        for (side, limit) in [(1.0, bounds.min[axis]), (-1.0, bounds.max[axis])] {
            let inside = |point: &Point3<f64>| side * (point[axis] - limit);
            let count = polygon.len();
            let mut kept = Vec::with_capacity(count + 1);
            for at in 0..count {
                let (here, next) = (&polygon[at], &polygon[(at + 1) % count]);
                let (a, b) = (inside(here), inside(next));
                if a >= 0.0 {
                    kept.push(*here);
                }
                if a * b < 0.0 {
                    kept.push(here + (next - here) * (a / (a - b)));
                }
            }
            polygon = kept;
        }
    }
    polygon
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use super::super::Block;
    use super::*;
    use nalgebra::Vector3;

    fn area_mm2(shape: &Shape) -> f64 {
        let Shape::Mesh(mesh) = shape else { panic!("a mesh was asked for") };
        let area = |at: usize| {
            let [a, b, c] = mesh.corners(at);
            (b - a).cross(&(c - a)).norm() / 2.0
        };
        (0..mesh.triangles.len()).map(area).sum()
    }

    #[test]
    fn the_halves_of_a_block_have_all_of_its_surface() {
        let block = Shape::Block(Block { size_mm: Vector3::new(10.0, 20.0, 30.0) });
        let bounds = block.bounds();
        let (mut low, mut high) = (bounds, bounds);
        (low.max.z, high.min.z) = (3.0, 3.0);
        let halves = [low, high].map(|half| area_mm2(&block.surface_within(&half, 0.01).unwrap()));
        // Closed form: two faces of 200 and a skirt of 60 round, 30 high.
        assert!((halves[0] - (200.0 + 60.0 * 18.0)).abs() < 1e-9, "{halves:?}");
        assert!((halves[1] - (200.0 + 60.0 * 12.0)).abs() < 1e-9, "{halves:?}");
        let away = Bounds { min: Point3::new(50.0, 0.0, 0.0), max: Point3::new(60.0, 1.0, 1.0) };
        assert!(block.surface_within(&away, 0.01).is_none());
    }
}
