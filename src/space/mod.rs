//! The ground floor: units, angles, poses, axes.
//!
//! Leaves to others: everything that has a shape or a name.

mod angle;
mod axis;
mod bounds;
mod direction;
mod fraction;
mod length;
mod number;
mod pose;

pub use angle::{Angle, AngleUnit};
pub use axis::Axis;
pub use bounds::Bounds;
pub use direction::Direction;
pub use fraction::InchFraction;
pub use length::{Length, LengthUnit};
pub use number::QuantityError;
pub use pose::{Pose, pose_from_euler, pose_of_turn};
