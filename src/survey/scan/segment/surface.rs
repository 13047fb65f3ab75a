//! A surface, and what lies on it.

use nalgebra::{Point3, Unit, Vector3};

/// A surface of no bounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Surface {
    Plane { point: Point3<f64>, normal: Unit<Vector3<f64>> },
    Cylinder { point: Point3<f64>, direction: Unit<Vector3<f64>>, radius_mm: f64 },
    Sphere { center: Point3<f64>, radius_mm: f64 },
}

/// How near a point must lie, and how well its normal must agree.
#[derive(Clone, Copy, Debug)]
pub(super) struct Nearness {
    pub(super) tolerance_mm: f64,
    /// Cosine of the greatest angle.
    pub(super) cosine: f64,
}

impl Surface {
    /// Signed distance, mm: positive on the normal's side, or outside; and the surface's normal there, not always of
    /// length 1 and then `1` says by what it is divided.
    fn off(&self, at: &Point3<f64>) -> (f64, Vector3<f64>, f64) {
        match self {
            Surface::Plane { point, normal } => ((at - point).dot(normal), normal.into_inner(), 1.0),
            Surface::Cylinder { point, direction, radius_mm } => {
                let q = at - point;
                let across = q - direction.into_inner() * q.dot(direction);
                let length = across.norm();
                (length - radius_mm, across, length)
            }
            Surface::Sphere { center, radius_mm } => {
                let q = at - center;
                let length = q.norm();
                (length - radius_mm, q, length)
            }
        }
    }

    /// Signed distance, mm; positive on the normal's side, or outside.
    pub(super) fn distance_mm(&self, at: &Point3<f64>) -> f64 {
        self.off(at).0
    }

    /// Whether a point with its normal, of either sign, lies on it.
    #[inline]
    pub(super) fn holds(&self, at: &Point3<f64>, normal: &Vector3<f64>, near: &Nearness) -> bool {
        let (off, facing, length) = self.off(at);
        off.abs() <= near.tolerance_mm && normal.dot(&facing).abs() >= near.cosine * length
    }

    pub(super) fn is_plane(&self) -> bool {
        matches!(self, Surface::Plane { .. })
    }
}
