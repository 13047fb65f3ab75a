//! The body that is moved, and steps of its movement.

use nalgebra::{Isometry3, Point3, Translation3, UnitQuaternion, Vector3};

use crate::clearance::IndexedShape;
use crate::solid::Shape;
use crate::space::{Bounds, Pose};

/// A rigid body seen from its own middle: turns are taken about that, so that they sweep least.
#[derive(Clone, Debug)]
pub(super) struct Mover {
    pub shape: IndexedShape,
    /// The middle, in the body's frame.
    center: Vector3<f64>,
    /// Farthest point of the body from the middle, mm, rounded up.
    pub reach_mm: f64,
    /// How far its surface lies from the middle on the whole (root mean square), mm: what a radian of turn is
    /// worth in millimetres of shift.
    pub spread_mm: f64,
}

/// A mesh of a shape may stand off the shape by this much, mm.
const CHORD_MM: f64 = 0.5;

impl Mover {
    pub fn new(shape: &IndexedShape) -> Self {
        let (points, off_mm): (Vec<Point3<f64>>, f64) = match &**shape.shape() {
            Shape::Mesh(mesh) => (used_vertices(mesh), 0.0),
            Shape::Cloud(cloud) => (cloud.points.clone(), cloud.radius_mm),
            other => (used_vertices(&other.tessellate(CHORD_MM)), CHORD_MM),
        };
        let bounds = if points.is_empty() { *shape.bounds() } else { Bounds::of_points(&points) };
        let center = if bounds.is_empty() { Vector3::zeros() } else { bounds.center().coords };
        let corners: Vec<Vector3<f64>> = points.iter().map(|point| point.coords - center).collect();
        let farthest = |of: &mut dyn Iterator<Item = Vector3<f64>>| of.map(|v| v.norm()).fold(0.0, f64::max);
        let reach_mm = if corners.is_empty() {
            if bounds.is_empty() {
                0.0
            } else {
                farthest(&mut bounds.corners().into_iter().map(|corner| corner.coords - center))
            }
        } else {
            farthest(&mut corners.iter().copied())
        };
        let mean = corners.iter().map(Vector3::norm_squared).sum::<f64>() / corners.len().max(1) as f64;
        let off_mm = if bounds.is_empty() { 0.0 } else { off_mm };
        let reach_mm = (reach_mm + off_mm) * (1.0 + 1e-9);
        let spread_mm = mean.sqrt().clamp(0.3 * reach_mm, reach_mm).max(1e-3);
        Mover { shape: shape.clone(), center, reach_mm, spread_mm }
    }

    /// From a pose of the body's frame to one of its middle.
    pub fn world_from_middle(&self, world_from_body: &Pose) -> Pose {
        world_from_body * Translation3::from(self.center)
    }

    /// The middle, in the body's frame.
    pub fn middle(&self) -> Point3<f64> {
        Point3::from(self.center)
    }

    /// And back.
    pub fn world_from_body(&self, world_from_middle: &Pose) -> Pose {
        world_from_middle * Translation3::from(-self.center)
    }

    /// How far no point of the body moves farther than, over the straight step between two poses, mm.
    pub fn travel_mm(&self, from: &Pose, to: &Pose) -> f64 {
        Step::new(from, to).travel_mm(self.reach_mm)
    }
}

fn used_vertices(mesh: &crate::solid::Mesh) -> Vec<Point3<f64>> {
    let mut used = vec![false; mesh.vertices.len()];
    for index in mesh.triangles.iter().flatten() {
        if let Some(used) = used.get_mut(*index as usize) {
            *used = true;
        }
    }
    mesh.vertices.iter().zip(used).filter_map(|(vertex, used)| used.then_some(*vertex)).collect()
}

/// A step from one pose to another: the middle goes straight while the body turns evenly about it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Step {
    pub from: Pose,
    pub shift: Vector3<f64>,
    /// Turn as a vector along its axis, in the world's frame, radians.
    pub turn: Vector3<f64>,
}

impl Step {
    pub fn new(from: &Pose, to: &Pose) -> Self {
        let shift = to.translation.vector - from.translation.vector;
        Step { from: *from, shift, turn: turn_between(&from.rotation, &to.rotation) }
    }

    /// The pose at a share of the step.
    pub fn at(&self, share: f64) -> Pose {
        let turn = UnitQuaternion::from_scaled_axis(self.turn * share);
        Isometry3::from_parts(
            Translation3::from(self.from.translation.vector + self.shift * share),
            turn * self.from.rotation,
        )
    }

    /// No point within `reach_mm` of the middle travels farther.
    pub fn travel_mm(&self, reach_mm: f64) -> f64 {
        (self.shift.norm() + reach_mm * self.turn.norm()) * (1.0 + 1e-9)
    }
}

/// The short way round from one turn to another, in the world's frame, radians.
fn turn_between(from: &UnitQuaternion<f64>, to: &UnitQuaternion<f64>) -> Vector3<f64> {
    let mut q = (to * from.inverse()).into_inner();
    if q.w < 0.0 {
        q = -q;
    }
    let sin = q.imag().norm();
    if sin < 1e-12 { q.imag() * 2.0 } else { q.imag() * (2.0 * sin.atan2(q.w) / sin) }
}
