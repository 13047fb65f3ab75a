//! Ways in.

mod answer;
mod ask;
mod bay;
mod dice;
mod error;
mod grow;
mod lane;
mod mover;
mod plan;
mod proof;
mod tight;
mod tree;

pub use answer::{Answer, Effort, Ended, Impossible, NoneFound, Way};
pub use ask::{Options, WayAsk};
pub use bay::Obstacle;
pub use error::WayError;
pub use plan::way_in;
