//! Hoses: how they give way where their ends move, whether they are long enough, how tightly they bend, how they fall.
//!
//! ```text
//! sway    shapes over the movement of the ends: a grid of cells, each with the shape in its middle and what may lie between
//! known   how well ports, clips and length are known, as independent errors
//! judge   figures with U, verdicts, findings
//! pairs   gaps of a hose that gives way
//! ```

mod judge;
mod known;
mod pairs;
mod sway;

pub(super) use judge::check;
pub(super) use sway::{Sway, sway_of};
