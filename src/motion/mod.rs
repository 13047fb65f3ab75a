//! Carriers' movements, and gaps proved over a whole movement.
//!
//! A [`Movement`] is a chain of freedoms (turns about axes, slides along directions), each over
//! a range. Rock is a turn with an optional slide; a hinge is a turn; a lift-out is a slide.
//! Leaves to others: who is carried by what (`scene`).

mod apart;
mod cell;
mod movement;
mod over;
mod search;
mod swept;

pub use apart::{Farthest, farthest_apart};
pub use movement::{Freedom, Movement};
pub use over::{GapOver, GapOverUnder, Rider, gap_over, gap_over_under};
