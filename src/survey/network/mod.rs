//! Tape networks: distances between named marks, solved as a whole.

mod error;
mod observation;
mod solve;

pub use error::NetworkError;
pub use observation::{KnownMark, TapeReading};
pub use solve::{NetworkMark, NetworkSolution, TapeResidual, TapeSuspect, solve_network};
