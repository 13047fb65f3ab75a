//! Poses: where a frame stands in another.

use nalgebra::{Isometry3, Translation3, UnitQuaternion, Vector3};

use super::{Angle, Axis};

/// A rigid pose. A value is named for both frames and reads along the product:
/// `chassis_from_cap = chassis_from_engine * engine_from_cap`.
pub type Pose = Isometry3<f64>;

/// The pose that moves the origin to `at` (millimetres) after turning about x, then y, then z
/// of the fixed axes (so the matrix is Rz * Ry * Rx).
pub fn pose_from_euler(at: Vector3<f64>, x: Angle, y: Angle, z: Angle) -> Pose {
    Pose::from_parts(Translation3::from(at), UnitQuaternion::from_euler_angles(x.rad(), y.rad(), z.rad()))
}

/// The pose that turns everything about a line, right-handed.
///
/// # Example
/// A point 200 right of and 300 above... turned 3 degrees about z (closed form, 2·sin(1.5°)·360.5551):
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::space::{pose_of_turn, Angle, Axis};
/// use nalgebra::{Point3, Vector3};
/// let z = Axis { through: Point3::origin(), along: Vector3::z_axis() };
/// let moved = pose_of_turn(&z, Angle::from_deg(3.0)) * Point3::new(200.0, 300.0, 0.0);
/// assert!((moved - Point3::new(184.0251201, 310.0560517, 0.0)).norm() < 1e-6);
/// ```
pub fn pose_of_turn(axis: &Axis, angle: Angle) -> Pose {
    let turn = UnitQuaternion::from_axis_angle(&axis.along, angle.rad());
    let shift = axis.through.coords - turn * axis.through.coords;
    Pose::from_parts(Translation3::from(shift), turn)
}
