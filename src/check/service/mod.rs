//! Service points: what a person must touch, turn, pour into and lift out.
//!
//! The hood (every hinge) stands open, the engine at rest. `bay` sets the obstacles out, `hand` finds the
//! way of the hand and the arm, `room` the free room about a cap or spout, `lift` the straight way out;
//! `point` makes one finding of them a service point. Leaves to others: the geometry (`access`).

mod bay;
mod hand;
mod lift;
mod point;
mod room;

pub(super) use point::check;
