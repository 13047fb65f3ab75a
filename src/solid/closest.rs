//! The answer to "where on this surface am I nearest, and am I inside?".

use nalgebra::{Point3, Unit, Vector3};

use crate::space::Pose;

/// Under this distance (mm) the direction from surface to point is noise, and a face's normal is used.
pub(super) const NOISE_MM: f64 = 1e-9;

/// The surface point of a shape nearest to a point asked about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Closest {
    /// On the surface, in the shape's frame.
    pub point: Point3<f64>,
    /// Signed distance, mm: negative inside.
    pub distance_mm: f64,
    /// Outward normal at `point`: from inside to outside.
    pub normal: Unit<Vector3<f64>>,
}

impl Closest {
    /// What a shape without a surface (an empty mesh or cloud) answers: infinitely far.
    pub const NOWHERE: Closest = Closest {
        point: Point3::new(f64::INFINITY, f64::INFINITY, f64::INFINITY),
        distance_mm: f64::INFINITY,
        normal: Unit::new_unchecked(Vector3::new(1.0, 0.0, 0.0)),
    };

    /// The one of lesser signed distance; of equals the first.
    pub fn nearer(self, other: Self) -> Self {
        if other.distance_mm < self.distance_mm { other } else { self }
    }

    /// The same answer seen from another frame.
    pub fn moved(&self, to_from_here: &Pose) -> Self {
        Closest {
            point: to_from_here * self.point,
            distance_mm: self.distance_mm,
            normal: to_from_here * self.normal,
        }
    }

    /// From a point outside to a surface point; `face` is the normal used where the two coincide.
    pub(super) fn outside(from: &Point3<f64>, point: Point3<f64>, face: Unit<Vector3<f64>>) -> Self {
        let offset = from - point;
        let distance_mm = offset.norm();
        let normal = if distance_mm > NOISE_MM { Unit::new_unchecked(offset / distance_mm) } else { face };
        Closest { point, distance_mm, normal }
    }

    /// The answer of a surface without an inside, for a point that lies inside after all.
    pub(super) fn turned_inside(self) -> Self {
        if self.distance_mm <= NOISE_MM {
            // So near, the normal is the face's own and already points out.
            return Closest { distance_mm: -self.distance_mm, ..self };
        }
        Closest { distance_mm: -self.distance_mm, normal: -self.normal, ..self }
    }
}
