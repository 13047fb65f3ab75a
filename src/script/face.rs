//! The flat faces of a body, by the way they look.

use nalgebra::{Matrix3, Point3, Rotation3, Unit, UnitQuaternion, Vector3};

use crate::solid::Shape;
use crate::space::{Bounds, Pose};

/// Why a body has no such face.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum FaceError {
    /// It is round on that side.
    Round {
        /// Where its flat ends look, vehicle axes.
        looks: Vec<Vector3<f64>>,
    },
    /// It has no flat faces of which one could be meant.
    None {
        /// What it is.
        kind: &'static str,
    },
}

/// A flat face in the body's frame.
struct Flat {
    middle: Point3<f64>,
    outward: Vector3<f64>,
    /// Edge directions; none on a disc.
    edges: Vec<Vector3<f64>>,
}

/// How far a round body's end may look away from the way asked for: half a right angle.
const NEAR: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// The pose in the middle of the face that looks most nearly `toward` (vehicle axes): z outward; x
/// along the edge nearest to up, or to rearward when the face looks up or down (more so than
/// sideways). Exact. Discs have no edges: there x is the nearest direction within the disc.
pub(super) fn face(
    shape: &Shape,
    world_from_body: &Pose,
    toward: &Unit<Vector3<f64>>,
) -> Result<Pose, FaceError> {
    let (flats, round) = flats(shape)?;
    let look = |flat: &Flat| (world_from_body.rotation * flat.outward).dot(toward);
    let mut best: Option<(f64, &Flat)> = None;
    for flat in &flats {
        if best.is_none_or(|(most, _)| look(flat) > most + 1e-12) {
            best = Some((look(flat), flat));
        }
    }
    let Some((most, flat)) = best else { return Err(FaceError::None { kind: "without faces" }) };
    if round && most < NEAR {
        return Err(FaceError::Round {
            looks: flats.iter().map(|flat| world_from_body.rotation * flat.outward).collect(),
        });
    }
    let z = world_from_body.rotation * flat.outward;
    let reference = if z.z.abs() > NEAR { Vector3::x() } else { Vector3::z() };
    let x = if flat.edges.is_empty() {
        reference - z * z.dot(&reference)
    } else {
        let mut nearest = world_from_body.rotation * flat.edges[0];
        for edge in flat.edges.iter().flat_map(|edge| [*edge, -edge]) {
            let edge = world_from_body.rotation * edge;
            if edge.dot(&reference) > nearest.dot(&reference) + 1e-12 {
                nearest = edge;
            }
        }
        nearest
    };
    let x = x.normalize();
    let y = z.cross(&x);
    let turn = Rotation3::from_matrix_unchecked(Matrix3::from_columns(&[x, y, z]));
    let middle = world_from_body * flat.middle;
    Ok(Pose::from_parts(middle.into(), UnitQuaternion::from_rotation_matrix(&turn)))
}

/// The flat faces, and whether the rest of the surface is round.
fn flats(shape: &Shape) -> Result<(Vec<Flat>, bool), FaceError> {
    let none = |kind| Err(FaceError::None { kind });
    match shape {
        Shape::Block(block) => {
            let half = block.size_mm / 2.0;
            Ok((of_box(&Bounds { min: Point3::from(-half), max: Point3::from(half) }), false))
        }
        // The edges of a plate are taken as those of the box about its outline.
        Shape::Plate(plate) => {
            let flat: Vec<Point3<f64>> = plate.outline.iter().map(|p| Point3::new(p.x, p.y, 0.0)).collect();
            let mut bounds = Bounds::of_points(&flat);
            bounds.max.z = plate.thickness_mm;
            Ok((of_box(&bounds), false))
        }
        Shape::Cylinder(bar) => Ok((ends(bar.length_mm), true)),
        Shape::Frustum(cone) => Ok((ends(cone.length_mm), true)),
        Shape::Compound(compound) => match compound.parts.as_slice() {
            [(pose, part)] => {
                let (mut flats, round) = flats(part)?;
                for flat in &mut flats {
                    flat.middle = pose * flat.middle;
                    flat.outward = pose.rotation * flat.outward;
                    flat.edges.iter_mut().for_each(|edge| *edge = pose.rotation * *edge);
                }
                Ok((flats, round))
            }
            _ => none("a union of several shapes"),
        },
        Shape::Ball(_) => none("a ball"),
        Shape::Capsule(_) => none("a bar with round ends"),
        Shape::TorusArc(_) => none("a bend"),
        Shape::Tube(_) => none("a tube"),
        Shape::Hull(_) => none("a hull of points"),
        Shape::Mesh(_) => none("a mesh"),
        Shape::Cloud(_) => none("a cloud of points"),
    }
}

fn of_box(bounds: &Bounds) -> Vec<Flat> {
    let (middle, half) = (bounds.center(), bounds.size() / 2.0);
    let mut flats = Vec::with_capacity(6);
    for axis in 0..3 {
        for sign in [-1.0, 1.0] {
            let mut outward = Vector3::zeros();
            outward[axis] = sign;
            let edges = (0..3)
                .filter(|other| *other != axis)
                .map(|other| {
                    let mut edge = Vector3::zeros();
                    edge[other] = 1.0;
                    edge
                })
                .collect();
            flats.push(Flat { middle: middle + outward * half[axis], outward, edges });
        }
    }
    flats
}

fn ends(length_mm: f64) -> Vec<Flat> {
    [-1.0, 1.0]
        .map(|sign| Flat {
            middle: Point3::new(0.0, 0.0, sign * length_mm / 2.0),
            outward: Vector3::z() * sign,
            edges: Vec::new(),
        })
        .into()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::solid::{Ball, Block, Cylinder};
    use crate::space::{Angle, Direction, pose_from_euler};

    #[test]
    fn a_box_shows_six_faces_with_z_outward_and_x_up() {
        let block = Shape::Block(Block { size_mm: Vector3::new(20.0, 40.0, 60.0) });
        let pose = Pose::translation(100.0, 200.0, 300.0);
        for (toward, middle, x) in [
            (Direction::Forward, [90.0, 200.0, 300.0], Vector3::z()),
            (Direction::Rearward, [110.0, 200.0, 300.0], Vector3::z()),
            (Direction::Left, [100.0, 180.0, 300.0], Vector3::z()),
            (Direction::Right, [100.0, 220.0, 300.0], Vector3::z()),
            (Direction::Up, [100.0, 200.0, 330.0], Vector3::x()),
            (Direction::Down, [100.0, 200.0, 270.0], Vector3::x()),
        ] {
            let got = face(&block, &pose, &toward.unit()).unwrap();
            assert!((got.translation.vector - Vector3::from(middle)).norm() < 1e-9, "{toward:?}");
            assert!((got.rotation * Vector3::z() - toward.unit().into_inner()).norm() < 1e-9, "{toward:?}");
            assert!((got.rotation * Vector3::x() - x).norm() < 1e-9, "{toward:?}");
        }
    }

    #[test]
    fn a_turned_box_shows_the_face_that_looks_most_that_way() {
        // Turned 30 deg about up, its own +x looks 30 deg from rearward toward right.
        let block = Shape::Block(Block { size_mm: Vector3::new(20.0, 40.0, 60.0) });
        let pose = pose_from_euler(Vector3::zeros(), Angle::ZERO, Angle::ZERO, Angle::from_deg(30.0));
        let got = face(&block, &pose, &Direction::Rearward.unit()).unwrap();
        let want = Vector3::new(10.0 * 30f64.to_radians().cos(), 10.0 * 30f64.to_radians().sin(), 0.0);
        assert!((got.translation.vector - want).norm() < 1e-9);
        // Its top: x along its own edge, not the vehicle's.
        let top = face(&block, &pose, &Direction::Up.unit()).unwrap();
        assert!((top.rotation * Vector3::x()).dot(&want.normalize()) > 1.0 - 1e-9);
    }

    #[test]
    fn a_round_body_has_ends_only_and_a_ball_has_none() {
        let bar = Shape::Cylinder(Cylinder { radius_mm: 10.0, length_mm: 80.0 });
        let end = face(&bar, &Pose::identity(), &Direction::Up.unit()).unwrap();
        assert!((end.translation.vector - Vector3::new(0.0, 0.0, 40.0)).norm() < 1e-9);
        assert!(matches!(
            face(&bar, &Pose::identity(), &Direction::Left.unit()),
            Err(FaceError::Round { looks }) if looks.len() == 2
        ));
        let ball = Shape::Ball(Ball { radius_mm: 5.0 });
        assert!(matches!(face(&ball, &Pose::identity(), &Direction::Up.unit()), Err(FaceError::None { .. })));
    }
}
