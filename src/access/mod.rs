//! Whether a hand, a tool, a spout and an eye get where they must.
//!
//! Every answer is a bound, not a guess: the widest corridor to a point lies in a proved interval,
//! a swing arc is proved free, a straight lift is proved over the whole travel. Only how much of a target an eye
//! sees is sampled, line by line, and told with the margin of the sampling. Obstacles are
//! anything that can say how far the nearest of them is ([`Obstacles`]); [`Bodies`] does it for
//! solids that stand somewhere. Leaves to others: which points a scene has and what its numbers
//! mean for a job (`check`); planning a way in that turns and tilts (`way_in`).
//!
//! ```text
//! obstacles.rs   what can be in the way          analytic.rs  obstacles with closed forms
//! bodies.rs      solids that stand somewhere     tree.rs      which of them are near a point
//! outside.rs     where a hand comes from         corridor/    the widest way to a point
//! opening.rs     published opening sizes         arm.rs       published arm lengths
//! reach.rs       the shortest wide enough way    room.rs      free room: cap, spout
//! interval.rs    proofs over one parameter       swing.rs     how far a lever turns
//! lift_out.rs    straight out                    tool.rs      a tool on a fastener's axis
//! sight.rs       what an eye sees             hand.rs       a hand whose fingers go before it
//! ```

mod analytic;
mod arm;
mod bodies;
mod corridor;
mod error;
mod hand;
mod interval;
mod lift_out;
mod obstacles;
mod opening;
mod outside;
mod reach;
mod room;
mod sight;
mod swing;
mod tilt;
mod tool;
mod tree;

pub use analytic::{Analytic, Part};
pub use arm::{ARMS, Arm, arm_named};
pub use bodies::{Bodies, BodyObstacles, Served, StandingBody};
pub use corridor::{Corridor, CorridorAsk, CorridorPoint, CorridorSearch, Effort, Narrowest, corridor};
pub use error::AccessError;
pub use hand::{Hand, HandWay, hand_way};
pub use interval::{FreeInterval, free_intervals, free_travel};
pub use lift_out::{LiftOut, LiftOutAsk, Stop, lift_out};
pub use obstacles::{Near, Obstacles};
pub use opening::{OPENINGS, Opening, OpeningFit, ROUND_HELD_OBJECT_MM, Sure, Wear, opening_named};
pub use outside::Outside;
pub use reach::{Reach, Reaches};
pub use room::{RoomAbout, RoomWitness, clear_about, pour_room, room_about, turn_room};
pub use sight::{Mirror, Sight, SightLine, mirror_line, seen_share, sight_line};
pub use swing::{FreeArc, Swing, SwingAsk, swing};
pub use tilt::{Leaning, leans_free};
pub use tool::{Lean, Lever, TakenOff, Tool, ToolAsk, ToolFit, tool_comes_off, tool_on_axis};
