//! Cutting a cloud to what matters.

use nalgebra::{Point3, Unit, Vector3};

use crate::space::Bounds;

use super::PointCloud;

/// What is kept of a cloud; a point on the border is kept.
#[derive(Clone, Debug, PartialEq)]
pub enum Crop {
    /// What lies in a box.
    InBox(Bounds),
    /// What lies outside a box.
    OutsideBox(Bounds),
    /// What lies on that side of a plane to which the direction points.
    HalfSpace {
        /// A point of the plane, mm.
        point: Point3<f64>,
        /// Toward what is kept.
        toward: Unit<Vector3<f64>>,
    },
}

impl Crop {
    /// Whether a point is kept.
    pub fn keeps(&self, point: &Point3<f64>) -> bool {
        match self {
            Crop::InBox(bounds) => bounds.contains(point),
            Crop::OutsideBox(Bounds { min, max }) => {
                (0..3).any(|axis| point[axis] <= min[axis] || point[axis] >= max[axis])
            }
            Crop::HalfSpace { point: base, toward } => (point - base).dot(toward) >= 0.0,
        }
    }
}

/// The points that every crop keeps, in their order.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::survey::scan::{Crop, PointCloud, crop};
/// use nalgebra::{Point3, Vector3};
/// let cloud = PointCloud::new(vec![Point3::new(0.0, 0.0, -1.0), Point3::new(0.0, 0.0, 2.0)]);
/// let above = Crop::HalfSpace { point: Point3::origin(), toward: Vector3::z_axis() };
/// assert_eq!(crop(&cloud, &[above]).points, [Point3::new(0.0, 0.0, 2.0)]);
/// ```
pub fn crop(cloud: &PointCloud, crops: &[Crop]) -> PointCloud {
    let kept: Vec<u32> = (0..)
        .zip(&cloud.points)
        .filter(|(_, point)| crops.iter().all(|crop| crop.keeps(point)))
        .map(|(index, _)| index)
        .collect();
    cloud.select(&kept)
}
