//! A rectangular box.

use nalgebra::{Point3, Unit, Vector3};

use crate::space::{Bounds, Pose};

use super::error::positive;
use super::{Closest, Mesh, MeshKind, Piece, ShapeError, Solid};

/// A rectangular box centred on the origin, edges along the axes.
///
/// Closest point: from inside, of equally near faces the first in the order +x, -x, +y, -y, +z, -z.
#[derive(Clone, Debug, PartialEq)]
pub struct Block {
    /// Full edge lengths, mm.
    pub size_mm: Vector3<f64>,
}

/// Corners numbered as [`Bounds::corners`] numbers them; counter-clockwise seen from outside.
const TRIANGLES: [[u32; 3]; 12] = [
    [0, 2, 3],
    [0, 3, 1],
    [4, 5, 7],
    [4, 7, 6],
    [0, 1, 5],
    [0, 5, 4],
    [2, 6, 7],
    [2, 7, 3],
    [0, 4, 6],
    [0, 6, 2],
    [1, 3, 7],
    [1, 7, 5],
];

impl Block {
    fn half(&self) -> Bounds {
        let half = self.size_mm / 2.0;
        Bounds { min: Point3::from(-half), max: Point3::from(half) }
    }
}

impl Solid for Block {
    fn validate(&self) -> Result<(), ShapeError> {
        positive("the box's size along x", self.size_mm.x)?;
        positive("the box's size along y", self.size_mm.y)?;
        positive("the box's size along z", self.size_mm.z)
    }

    fn bounds_in(&self, world_from_shape: &Pose) -> Bounds {
        self.half().moved(world_from_shape)
    }

    fn bounds(&self) -> Bounds {
        self.half()
    }

    fn volume_mm3(&self) -> f64 {
        self.size_mm.product()
    }

    fn area_mm2(&self) -> f64 {
        let s = &self.size_mm;
        2.0 * (s.x * s.y + s.y * s.z + s.z * s.x)
    }

    fn center_of_mass(&self) -> Point3<f64> {
        Point3::origin()
    }

    fn closest(&self, point: &Point3<f64>) -> Closest {
        let half = self.size_mm / 2.0;
        // The face that the point lies least far behind, or farthest before.
        let (mut face, mut sign, mut before) = (0, 1.0, f64::NEG_INFINITY);
        for axis in 0..3 {
            for side in [1.0, -1.0] {
                let distance = side * point[axis] - half[axis];
                if distance > before {
                    (face, sign, before) = (axis, side, distance);
                }
            }
        }
        let mut normal = Vector3::zeros();
        normal[face] = sign;
        let normal = Unit::new_unchecked(normal);
        if before <= 0.0 {
            let mut on_face = *point;
            on_face[face] = sign * half[face];
            return Closest { point: on_face, distance_mm: before, normal };
        }
        Closest::outside(point, self.half().nearest(point), normal)
    }

    fn tessellate(&self, _chord_mm: f64) -> Mesh {
        Mesh::new(self.half().corners().to_vec(), TRIANGLES.to_vec(), MeshKind::Closed)
    }

    fn pieces(&self) -> Vec<Piece> {
        vec![Piece::Block { solid_from_block: Pose::identity(), half_mm: self.size_mm / 2.0 }]
    }
}
