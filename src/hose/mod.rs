//! Hoses and lines: the shape that a flexible run of known length takes between two ports.
//!
//! A hose does not stretch, resists bending alike in every direction, is free to twist, and has weight. It is held at
//! both ends and by clips, where it may neither turn nor slide. Leaves to others: what stands near it, documents.
//!
//! ```text
//! ask       what is asked: ports, clips, length, stiffness
//! relaxed   the shape at rest, its tightest bend, how it falls
//! rod       the least energy of one span, by Newton's method
//! start     shapes to begin from
//! spread    how its figures answer to errors of its holds
//! error     why there is no such shape
//! ```
//!
//! Lengths in millimetres, forces in newtons; z is up.

mod ask;
mod error;
mod relaxed;
mod rod;
mod spread;
mod start;
#[cfg(test)]
mod tests;

pub use ask::{Clip, Hose, Port, SpanReach, stiffness_from_droop};
pub use error::HoseError;
pub use relaxed::{Fall, Relaxed, TightestBend};
pub use spread::HoldError;
