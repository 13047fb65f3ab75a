//! Straight pulls off a tight seat: ways that chance would hardly find.
//!
//! What sits flush between two faces leaves only exactly along both. Such directions follow from the normals of what is
//! near: across two that are not parallel, and all round one. Each pull is proved like any other step.

use nalgebra::{Unit, Vector3};

use super::ask::WayAsk;
use super::bay::Bay;
use super::mover::Step;
use super::proof::{Proof, prove};
use crate::clearance::gap;
use crate::space::Pose;

/// What is farther from the seated body than this guides no pull, mm.
const NEAR_MM: f64 = 1.0;
/// Directions tried in the plane of a face.
const ROUND: usize = 16;
/// The first try of a direction goes so far, mm; each further one twice as far as that before.
const FIRST_MM: f64 = 0.5;
/// Questions that the proof of one stretch may ask.
const QUESTIONS: u32 = 20_000;
/// A direction may point into a face by so little: rounding of a normal.
const INTO: f64 = 1e-9;
/// Directions closer than this, as the sine of the angle between, are the same.
const SAME: f64 = 1e-3;

/// Pulls from the mounted pose, each as far as it is proved and at some pose of it with more than `margin_mm` to spare: poses
/// of the middle, the mounted one left out. Every step of each is proved.
///
/// None where the body has as much room as that where it sits: chance gets on well enough from there.
pub(super) fn pulls(
    ask: &WayAsk<'_>,
    bay: &Bay<'_>,
    margin_mm: f64,
    stop: &dyn Fn() -> bool,
) -> Vec<Vec<Pose>> {
    let goal = bay.mover.world_from_middle(&ask.goal);
    if bay.spare(&goal, 2.0 * margin_mm) > margin_mm {
        return Vec::new();
    }
    let faces = faces(ask);
    let most_mm = 2.0 * bay.mover.reach_mm;
    let mut pulled = Vec::new();
    for toward in directions(&faces, &ask.goal) {
        if stop() {
            break;
        }
        let mut line: Vec<Pose> = Vec::new();
        let (mut at, mut gone_mm, mut step_mm) = (goal, 0.0, FIRST_MM);
        while gone_mm < most_mm {
            let mut next = at;
            next.translation.vector += toward.into_inner() * step_mm;
            if prove(bay, &Step::new(&at, &next), 0.0, QUESTIONS) != Proof::Free {
                break;
            }
            gone_mm += step_mm;
            line.push(next);
            (at, step_mm) = (next, 2.0 * step_mm);
        }
        if line.iter().any(|pose| bay.spare(pose, 2.0 * margin_mm) > margin_mm) {
            pulled.push(line);
        }
    }
    pulled
}

/// Normals of what is near the seated body, from the obstacle to it, in the world.
fn faces(ask: &WayAsk<'_>) -> Vec<Unit<Vector3<f64>>> {
    let mut faces: Vec<Unit<Vector3<f64>>> = Vec::new();
    for obstacle in ask.obstacles {
        let relative = obstacle.world_from_obstacle.inverse() * ask.goal;
        let found = gap(&obstacle.shape, ask.body, &relative);
        if found.gap.mm() - obstacle.room.mm() > NEAR_MM {
            continue;
        }
        let normal = Unit::new_normalize(obstacle.world_from_obstacle * found.witness.normal.into_inner());
        if faces.iter().all(|known| known.cross(&normal).norm() > INTO || known.dot(&normal) < 0.0) {
            faces.push(normal);
        }
    }
    faces
}

/// Directions to pull in, those along two faces first.
fn directions(faces: &[Unit<Vector3<f64>>], goal: &Pose) -> Vec<Unit<Vector3<f64>>> {
    let mut wanted: Vec<Vector3<f64>> = Vec::new();
    for (number, a) in faces.iter().enumerate() {
        for b in &faces[..number] {
            let along = a.cross(b);
            if along.norm() > SAME {
                wanted.extend([along, -along]);
            }
        }
    }
    for face in faces {
        // Two axes in the plane of the face.
        let least = face.iamin();
        let across = face.cross(&Vector3::ith(least, 1.0)).normalize();
        let third = face.cross(&across);
        wanted.extend((0..ROUND).map(|k| {
            let (sin, cos) = (std::f64::consts::TAU * k as f64 / ROUND as f64).sin_cos();
            across * cos + third * sin
        }));
    }
    for k in 0..27 {
        let compass = Vector3::new(f64::from(k % 3 - 1), f64::from(k / 3 % 3 - 1), f64::from(k / 9 - 1));
        wanted.extend([compass, goal.rotation * compass]);
    }
    let mut kept: Vec<Unit<Vector3<f64>>> = Vec::new();
    for toward in wanted {
        let Some(toward) = Unit::try_new(toward, 0.5 * SAME) else { continue };
        let into = faces.iter().any(|face| face.dot(&toward) < -INTO);
        let known =
            |other: &Unit<Vector3<f64>>| other.dot(&toward) > 0.0 && other.cross(&toward).norm() < SAME;
        if !into && !kept.iter().any(known) {
            kept.push(toward);
        }
    }
    kept
}
