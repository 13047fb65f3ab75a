//! The one place where the project's numbers (f64, nalgebra) become the renderer's (f32, glam).

use kiss3d::color::Color;
use kiss3d::glamx::{Mat4, Pose3, Quat, Vec3};
use nalgebra::{Isometry3, Matrix4, Point3, Vector3};

use super::palette::Shade;

/// A place, mm.
pub(super) fn place(point: &Point3<f64>) -> Vec3 {
    Vec3::new(point.x as f32, point.y as f32, point.z as f32)
}

/// A direction.
pub(super) fn direction(vector: &Vector3<f64>) -> Vec3 {
    Vec3::new(vector.x as f32, vector.y as f32, vector.z as f32)
}

/// A pose.
pub(super) fn pose(pose: &Isometry3<f64>) -> Pose3 {
    let (t, q) = (&pose.translation.vector, &pose.rotation);
    Pose3::from_parts(
        direction(t),
        Quat::from_xyzw(q.i as f32, q.j as f32, q.k as f32, q.w as f32).normalize(),
    )
}

/// A matrix; both libraries store columns.
pub(super) fn matrix(matrix: &Matrix4<f64>) -> Mat4 {
    let m = matrix.map(|c| c as f32);
    Mat4::from_cols_slice(m.as_slice())
}

/// A colour as seen on a screen, to the linear light that the renderer encodes with a gamma of 2.2
/// at the end of its work.
pub(super) fn light(shade: Shade, alpha: f64) -> Color {
    let [r, g, b] = shade.channels().map(|c| (f32::from(c) / 255.0).powf(2.2));
    Color::new(r, g, b, alpha as f32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::{Angle, pose_from_euler};

    #[test]
    fn a_pose_carries_a_place_to_the_same_place() {
        let there = pose_from_euler(
            Vector3::new(100.0, -20.0, 7.0),
            Angle::from_deg(10.0),
            Angle::from_deg(-35.0),
            Angle::from_deg(120.0),
        );
        let point = Point3::new(3.0, 4.0, -5.0);
        let (want, got) = (place(&(there * point)), pose(&there) * place(&point));
        assert!((want - got).length() < 1e-4, "{want} against {got}");
        let got = matrix(&there.to_homogeneous()).transform_point3(place(&point));
        assert!((want - got).length() < 1e-4, "{want} against {got}");
    }
}
