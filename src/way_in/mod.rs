//! Ways in.

mod bay;
mod dice;
mod grow;
mod lane;
mod mover;
mod plan;
mod proof;
mod tree;

pub use bay::Obstacle;
pub use plan::{Answer, Ask, Way, plan};
