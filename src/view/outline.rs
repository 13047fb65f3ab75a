//! Lines along the edges worth seeing from where the eye is.

use nalgebra::Point3;

use crate::space::Pose;

use super::camera::Camera;
use super::drawable::{Drawable, EdgeKind};

/// How far a line is moved toward the eye, in pixels' widths, so that the surface that it lies on
/// doesn't swallow half of it.
const LIFT_PX: f64 = 2.5;

/// The ends of each line, in vehicle axes, lifted off the surface toward the eye.
pub(super) fn outline(drawable: &Drawable, world_from_body: &Pose, camera: &Camera) -> Vec<[Point3<f64>; 2]> {
    let body_from_world = world_from_body.inverse();
    let back = body_from_world * camera.toward_eye.into_inner();
    let eye = body_from_world * camera.eye();
    let parallel = matches!(camera.projection, super::Projection::Parallel { .. });
    drawable
        .edges
        .iter()
        .filter(|edge| {
            let sight = if parallel { back } else { eye - edge.ends[0] };
            let [one, other] = edge.normals.map(|normal| normal.dot(&sight));
            match edge.kind {
                EdgeKind::Rim => true,
                EdgeKind::Crease => one > 0.0 || other > 0.0,
                EdgeKind::Smooth => (one > 0.0) != (other > 0.0),
            }
        })
        .map(|edge| {
            edge.ends.map(|end| {
                let end = world_from_body * end;
                end + camera.sight_at(&end).into_inner() * camera.mm_per_px(&end) * LIFT_PX
            })
        })
        .collect()
}
