//! The widest corridor from outside to a point.
//!
//! A ball of diameter d passes when its centre can travel, inside the bay, from an open side to a
//! place where the ball touches the point, always at least d/2 clear of every obstacle. The widest
//! d is the corridor's width. It is not sampled but enclosed:
//!
//! * **narrower than this, it passes**: a polyline whose clearance is proved over every segment,
//!   because the clearance is 1-Lipschitz (`prove.rs`);
//! * **wider than this, it does not**: boxes that fill the bay, each with a proved greatest
//!   clearance (`bound.rs`), and no chain of boxes leads out (`walk.rs`).
//!
//! Boxes are split only where a chain of doubtful ones would settle the question (`search.rs`), so
//! fine boxes gather at the openings that matter and nowhere else.

mod answer;
mod ask;
mod bound;
mod climb;
mod end;
mod field;
mod prove;
mod pull;
mod search;
mod tree;
mod walk;

pub use answer::{Corridor, CorridorPoint, Effort, Narrowest};
pub use ask::CorridorAsk;
pub use search::{CorridorSearch, corridor};

pub(super) use end::nothing_between;
pub(super) use pull::length_mm;
