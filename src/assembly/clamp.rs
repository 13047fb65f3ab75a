//! Room for a joint where a pipe is split: for the joint itself, for a tool on its screw, and for the hand that holds it.

use std::sync::Arc;

use nalgebra::{Isometry3, Point3, Translation3, Unit, UnitQuaternion, Vector3};

use crate::access::{
    Bodies, CorridorAsk, Lever, Outside, StandingBody, Tool, ToolAsk, corridor, room_about, tool_on_axis,
};
use crate::clearance::IndexedShape;
use crate::scene::Scene;
use crate::space::{Angle, Axis, Bounds, Direction, Pose};
use crate::tube::JointSize;

use super::error::AssemblyError;
use super::seen::{Seen, Side};

/// Turns of the joint about its tube that are tried, deg apart.
const TURN_DEG: f64 = 15.0;
/// What a tool must keep to everything, mm: common practice, no source.
const TOOL_ROOM_MM: f64 = 2.0;
/// How far a socket is drawn off a nut, mm: common practice, no source.
const OFF_MM: f64 = 15.0;
/// Room farther off than this is all alike, mm.
const FAR_MM: f64 = 100.0;
/// Turns that are looked at closely, of those with free room for the tool.
const CLOSELY: usize = 6;

/// Room for a joint at a place of a pipe.
#[derive(Clone, Debug)]
pub struct ClampRoom {
    /// Gap between the joint and the nearest body but the pipe, mm; 100 for any that is farther.
    pub room_mm: f64,
    /// That body.
    pub nearest: Option<String>,
    /// The tool that turns its screw, when one does.
    pub tool: Option<ClampTool>,
    /// The way of a hand to the screw, when it was looked at.
    pub hand: Option<Hand>,
}

/// A tool on the screw of a joint.
#[derive(Clone, Debug)]
pub struct ClampTool {
    /// What people call it.
    pub name: &'static str,
    /// Where the screw is, vehicle axes.
    pub screw: Point3<f64>,
    /// From the screw toward the tool.
    pub along: Unit<Vector3<f64>>,
    /// Free arc of its lever; none for what is turned in the hand.
    pub swing: Option<Angle>,
    /// Room about it when it is on the screw, mm.
    pub room_mm: f64,
}

/// The widest way of a ball to the screw: a proved interval, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hand {
    /// A ball of this diameter gets there.
    pub lower_mm: f64,
    /// None greater than this does; infinite where that was not told apart.
    pub upper_mm: f64,
}

/// Tools that are tried, the handiest first. Sizes are `common practice, no source`.
fn tools() -> [Tool; 3] {
    let lever = |height_mm| Some(Lever { height_mm, length_mm: 150.0, radius_mm: 16.0, rise: Angle::ZERO });
    let click = Angle::from_deg(5.0);
    [
        Tool {
            name: "socket on a ratchet".to_owned(),
            sections_mm: vec![(2.0, 30.0, 8.5), (30.0, 55.0, 17.0)],
            lever: lever(43.0),
            click,
            lean: None,
        },
        Tool {
            name: "socket on a 75 mm extension and a ratchet".to_owned(),
            sections_mm: vec![(2.0, 30.0, 8.5), (30.0, 105.0, 6.5), (105.0, 130.0, 17.0)],
            lever: lever(118.0),
            click,
            lean: None,
        },
        Tool {
            name: "nut driver turned in the hand".to_owned(),
            sections_mm: vec![(2.0, 80.0, 6.5), (80.0, 180.0, 22.0)],
            lever: None,
            click: Angle::from_deg(0.0),
            lean: None,
        },
    ]
}

const TOOL_NAMES: [&str; 3] =
    ["socket on a ratchet", "socket on a 75 mm extension and a ratchet", "nut driver turned in the hand"];

/// What stands round a pipe that is split.
pub(super) struct Around {
    bodies: Bodies,
    /// The pipe's own number among them.
    pipe: usize,
    outside: Outside,
}

/// The frame of a joint: z along the tube.
pub(super) fn world_from_joint(at: &Point3<f64>, axis: &Unit<Vector3<f64>>) -> Pose {
    let turn = UnitQuaternion::rotation_between(&Vector3::z(), axis)
        .unwrap_or_else(|| UnitQuaternion::from_axis_angle(&Vector3::x_axis(), std::f64::consts::PI));
    Isometry3::from_parts(Translation3::from(at.coords), turn)
}

impl Around {
    /// The bay about a pipe, as the pipe's own question of a way in has it.
    pub fn of(
        scene: &Scene,
        seen: &Seen,
        name: &str,
        world_from_pipe: &Pose,
        sides: &[Side],
    ) -> Result<Self, AssemblyError> {
        let cover_of = |name: &str| scene.body(name).map_or(0.0, |body| body.cover.mm());
        let mut list: Vec<StandingBody> = Vec::with_capacity(seen.obstacles.len() + 1);
        for (obstacle, name) in seen.obstacles.iter().zip(&seen.names) {
            list.push(StandingBody {
                name: name.clone(),
                shape: obstacle.shape.clone(),
                world_from_body: obstacle.world_from_obstacle,
                cover_mm: cover_of(name),
            });
        }
        let pipe = list.len();
        list.push(StandingBody {
            name: name.to_owned(),
            shape: seen.body.clone(),
            world_from_body: *world_from_pipe,
            cover_mm: cover_of(name),
        });
        let bodies = Bodies::new(list)?;
        // What swings out of the way, and floors or scans far off, do not make the bay larger than needed.
        let about = bodies.bounds_of(pipe).grown(600.0);
        let all = (0..pipe).fold(Bounds::EMPTY, |all, at| all.union(&bodies.bounds_of(at))).grown(10.0);
        let bay = Bounds { min: all.min.sup(&about.min), max: all.max.inf(&about.max) }
            .union(&bodies.bounds_of(pipe).grown(20.0));
        let mut open: Vec<Direction> = sides
            .iter()
            .map(|side| match side {
                Side::Above => Direction::Up,
                Side::Below => Direction::Down,
                Side::Front => Direction::Forward,
                Side::Left => Direction::Left,
                Side::Right => Direction::Right,
            })
            .collect();
        if open.is_empty() {
            open.push(Direction::Up);
        }
        Ok(Around { bodies, pipe, outside: Outside { bay, open } })
    }

    /// Room for a joint, and the tool that turns its screw.
    pub fn room(
        &self,
        at: &Point3<f64>,
        axis: &Unit<Vector3<f64>>,
        size: &JointSize,
    ) -> Result<ClampRoom, AssemblyError> {
        let world_from_joint = world_from_joint(at, axis);
        let joint = IndexedShape::new(Arc::new(size.shape()));
        let about = room_about(&self.bodies, &[self.pipe], &joint, &world_from_joint, FAR_MM);
        let nearest =
            about.nearest.and_then(|found| self.bodies.list().get(found.body)).map(|body| body.name.clone());
        let tool = self.tool(&world_from_joint, size)?;
        Ok(ClampRoom { room_mm: about.gap_mm, nearest, tool, hand: None })
    }

    /// The first tool that sits, comes off and turns, at the turn of the joint with most room.
    fn tool(&self, world_from_joint: &Pose, size: &JointSize) -> Result<Option<ClampTool>, AssemblyError> {
        let (joint_from_room, room) = size.tool_room();
        let room = IndexedShape::new(Arc::new(room));
        let mut turns: Vec<(f64, f64, bool)> = Vec::new();
        for step in 0..(360.0 / TURN_DEG) as usize {
            let turn_deg = step as f64 * TURN_DEG;
            for flipped in [false, true] {
                let pose = world_from_joint * screw_turn(turn_deg, flipped) * joint_from_room;
                let gap_mm = room_about(&self.bodies, &[], &room, &pose, FAR_MM).gap_mm;
                if gap_mm >= 0.0 {
                    turns.push((gap_mm, turn_deg, flipped));
                }
            }
        }
        turns.sort_by(|a, b| b.0.total_cmp(&a.0));
        turns.truncate(CLOSELY);
        for (tool, name) in tools().iter().zip(TOOL_NAMES) {
            for (_, turn_deg, flipped) in &turns {
                let world_from_screw = world_from_joint * screw_turn(*turn_deg, *flipped);
                let screw = world_from_screw * Point3::new(size.screw_mm - 7.5, 0.0, 0.0);
                let along = Unit::new_normalize(world_from_screw * Vector3::y());
                let fit = tool_on_axis(&ToolAsk {
                    bodies: &self.bodies,
                    without: &[],
                    tool,
                    axis: Axis { through: screw, along },
                    off_mm: OFF_MM,
                    room_mm: TOOL_ROOM_MM,
                })?;
                if fit.works {
                    let swing = fit.swing.as_ref().and_then(|swing| swing.widest());
                    return Ok(Some(ClampTool {
                        name,
                        screw,
                        along,
                        swing: swing.map(|arc| Angle::from_rad(arc.sweep_rad())),
                        room_mm: fit.seated.gap_mm,
                    }));
                }
            }
        }
        Ok(None)
    }

    /// The widest way of a hand to a screw, all else mounted.
    pub fn hand(&self, screw: &Point3<f64>) -> Option<Hand> {
        let obstacles = self.bodies.obstacles(&[]).ok()?;
        let ask = CorridorAsk {
            cap_mm: 150.0,
            floor_mm: 20.0,
            tolerance_mm: 5.0,
            touch_mm: 40.0,
            budget: 60_000,
            ..CorridorAsk::new(*screw, self.outside.clone())
        };
        let found = corridor(&obstacles, &ask).ok()?;
        Some(Hand { lower_mm: found.lower_mm, upper_mm: found.upper_mm })
    }
}

/// The joint turned about its tube, its screw heading one way or the other.
fn screw_turn(turn_deg: f64, flipped: bool) -> Pose {
    let about_tube = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), turn_deg.to_radians());
    let over = if flipped {
        UnitQuaternion::from_axis_angle(&Vector3::x_axis(), std::f64::consts::PI)
    } else {
        UnitQuaternion::identity()
    };
    Isometry3::from_parts(Translation3::identity(), about_tube * over)
}
