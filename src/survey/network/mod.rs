//! Tape networks: distances, squares, heights, plumb lines, edges and wraps of named marks, solved as a whole.
//!
//! `start.rs` places the marks one after another by trilateration (`sight.rs`, `mirror.rs`,
//! `lacking.rs`: what distances say of one mark, which mirror place, what is missing) or by
//! whatever readings they have (`place_mixed.rs`; `null_space.rs`: what could still move);
//! `adjust.rs` then finds all marks at once by weighted least squares (`component.rs`: what each
//! reading should read), known marks with an uncertainty of their own included; `snoop.rs` looks
//! for misread distances, `slip.rs` knows the usual ones; `solve.rs` puts them together. Leaves to others: files, and what a mark is for.

mod adjust;
mod component;
mod error;
mod lacking;
mod mirror;
mod network_graph;
mod null_space;
mod observation;
mod place_mixed;
mod sight;
mod slip;
mod snoop;
mod solution;
mod solve;
mod start;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_mixed;
mod trilaterate;

pub use error::NetworkError;
pub use observation::{How, HowFault, KnownMark, Loss, NetworkOptions, NetworkReading, TapeReading};
pub use solution::{NetworkMark, NetworkSolution, ReadingSlope, RoundThing, TapeResidual, TapeSuspect};
pub use solve::{solve_network, solve_readings};
pub use trilaterate::{Trilateration, trilaterate};
