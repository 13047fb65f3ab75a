//! Joints: what closes a tube where it is split or meets something.
//!
//! `kind` names them; `table` gives their sizes by diameter; `absorb` says what movement one takes up. Sizes are
//! our own parametrisation: `common practice, no source`, to be replaced by what is measured on the part in hand.

mod absorb;
mod kind;
mod over;
mod table;
#[cfg(test)]
mod tests;

pub use absorb::{Absorbs, Demand, JointShortfall, demand};
pub use kind::JointKind;
pub use over::demand_over;
pub use table::{JointSize, joint_size};
