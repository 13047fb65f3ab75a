//! Tape networks: distances between named marks, solved as a whole.
//!
//! `start.rs` places the marks one after another by trilateration (`sight.rs`, `mirror.rs`,
//! `lacking.rs`: what distances say of one mark, which mirror place, what is missing);
//! `adjust.rs` then finds all marks at once by weighted least squares, known marks with an
//! uncertainty of their own included; `snoop.rs` looks for misread distances; `solve.rs` puts
//! them together. Leaves to others: files, and what a mark is for.

mod adjust;
mod error;
mod lacking;
mod mirror;
mod network_graph;
mod observation;
mod sight;
mod snoop;
mod solve;
mod start;
#[cfg(test)]
mod tests;
mod trilaterate;

pub use error::NetworkError;
pub use observation::{KnownMark, TapeReading};
pub use solve::{NetworkMark, NetworkSolution, TapeResidual, TapeSuspect, solve_network};
pub use trilaterate::{Trilateration, trilaterate};
