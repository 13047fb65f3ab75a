//! What stands in the way.

use nalgebra::{Point3, Vector3};

use super::mover::Mover;
use crate::clearance::IndexedShape;
use crate::clearance::walk::{LastMet, Outcome, least_gap, meeting_again};
use crate::space::{Bounds, Length, Pose};

/// A body that stands still, and the room that must be kept to it.
#[derive(Clone, Debug)]
pub struct Obstacle {
    /// Its shape.
    pub shape: IndexedShape,
    /// Where it stands.
    pub world_from_obstacle: Pose,
    /// Least gap on the way, covers included; not negative.
    pub room: Length,
}

/// All obstacles, ready to be asked.
#[derive(Clone, Debug)]
pub(super) struct Bay<'a> {
    pub mover: &'a Mover,
    pub standing: Vec<Standing<'a>>,
}

#[derive(Clone, Debug)]
pub(super) struct Standing<'a> {
    pub shape: &'a IndexedShape,
    pub world_from_obstacle: Pose,
    obstacle_from_world: Pose,
    /// In the world.
    bounds: Bounds,
    pub room_mm: f64,
}

/// What one asker remembers from question to question, and what it has asked.
#[derive(Clone, Debug)]
pub(super) struct Asked {
    /// Obstacles, the one that stopped the body last first.
    order: Vec<u32>,
    met: Vec<LastMet>,
    /// Poses looked at.
    pub checks: u64,
    /// How often each obstacle stopped the body.
    pub stops: Vec<u64>,
}

/// Where an obstacle stops the body.
#[derive(Clone, Copy, Debug)]
pub(super) struct Touch {
    /// On the body, in the world.
    pub point: Point3<f64>,
    /// Which way the body must move to widen the gap, in the world; unit.
    pub away: Vector3<f64>,
}

impl<'a> Bay<'a> {
    pub fn new(mover: &'a Mover, obstacles: &'a [Obstacle]) -> Self {
        let standing = obstacles
            .iter()
            .map(|obstacle| Standing {
                shape: &obstacle.shape,
                world_from_obstacle: obstacle.world_from_obstacle,
                obstacle_from_world: obstacle.world_from_obstacle.inverse(),
                bounds: obstacle.shape.shape().bounds_in(&obstacle.world_from_obstacle),
                room_mm: obstacle.room.mm().max(0.0),
            })
            .collect();
        Bay { mover, standing }
    }

    pub fn asked(&self) -> Asked {
        let count = self.standing.len();
        Asked {
            order: (0..count as u32).collect(),
            met: vec![LastMet::default(); count],
            checks: 0,
            stops: vec![0; count],
        }
    }

    /// The obstacle whose room the body is in, or `None` when the pose is free with `margin_mm` to spare. Surfaces
    /// only: what stands apart and never meets on the way cannot have got inside either.
    pub fn stopped(&self, world_from_middle: &Pose, margin_mm: f64, asked: &mut Asked) -> Option<usize> {
        asked.checks += 1;
        let world_from_body = self.mover.world_from_body(world_from_middle);
        let middle = Point3::from(world_from_middle.translation.vector);
        for place in 0..asked.order.len() {
            let number = asked.order[place] as usize;
            let standing = &self.standing[number];
            let room_mm = (standing.room_mm + margin_mm).max(1e-9);
            if standing.bounds.distance_mm(&middle) > self.mover.reach_mm + room_mm {
                continue;
            }
            let relative = standing.obstacle_from_world * world_from_body;
            let (a, b) = (&standing.shape.index, &self.mover.shape.index);
            if meeting_again(a, b, &relative, room_mm, &mut asked.met[number]) {
                asked.order[..=place].rotate_right(1);
                asked.stops[number] += 1;
                return Some(number);
            }
        }
        None
    }

    /// How the place of an obstacle that stopped the body last stands to the body at a pose near by.
    pub fn touch(&self, number: usize, world_from_middle: &Pose, asked: &Asked) -> Option<Touch> {
        let standing = &self.standing[number];
        let relative = standing.obstacle_from_world * self.mover.world_from_body(world_from_middle);
        let (a, b) = (&standing.shape.index, &self.mover.shape.index);
        let found = asked.met[number].nearest(a, b, &relative)?;
        Some(Touch {
            point: standing.world_from_obstacle * found.on_b,
            away: standing.world_from_obstacle * found.normal,
        })
    }

    /// How much room is to spare at a pose at least, when under `within_mm`, and to which obstacle; else a proved
    /// lower bound of at least that. Surfaces only.
    pub fn spare(&self, world_from_middle: &Pose, within_mm: f64) -> f64 {
        let world_from_body = self.mover.world_from_body(world_from_middle);
        let middle = Point3::from(world_from_middle.translation.vector);
        let mut least_mm = within_mm;
        for standing in &self.standing {
            let limit_mm = standing.room_mm + least_mm;
            if standing.bounds.distance_mm(&middle) > self.mover.reach_mm + limit_mm {
                continue;
            }
            let relative = standing.obstacle_from_world * world_from_body;
            let (a, b) = (&standing.shape.index, &self.mover.shape.index);
            // Contact itself is under no limit that is not above zero, but has to be looked for.
            let gap_mm = match least_gap(a, b, &relative, limit_mm.max(1e-9)) {
                Outcome::Beyond { .. } => continue,
                Outcome::Apart(found) | Outcome::Meeting(found) => found.nearest.gap_mm,
            };
            least_mm = least_mm.min(gap_mm - standing.room_mm);
        }
        least_mm
    }
}
