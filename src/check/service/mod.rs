//! Service points: what a person must see, touch, turn, pull, pour into, unplug, unscrew and lift out.
//!
//! The hood (every hinge) stands open, the engine at rest. `bay` sets the obstacles out, `slack` lets them stand off by
//! what is not known of them. `hand` finds the way of the hand and the arm, `room` the free room about a cap or spout,
//! `lift` the straight way out, `pull` a straight free length, `plug` room for finger and thumb, `wrench` the tools
//! that work, `posture` how each may be held, `sight` what is seen; `part` is what each of them gives. `point` makes one finding of them a service
//! point, `caution` says what may hurt. Leaves to others: the geometry (`access`).

mod bay;
mod caution;
mod hand;
mod lift;
mod part;
mod plug;
mod point;
mod posture;
mod pull;
mod room;
mod sight;
mod slack;
mod wrench;

pub(super) use point::check;
