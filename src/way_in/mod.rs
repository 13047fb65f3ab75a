//! Ways in: whether a rigid body can be worked from outside to its mounted pose, in all six degrees of freedom.
//!
//! The answer is a way with a proof that every instant of it is free, or that none was found within the budget, or,
//! with a proof, that there is none. Leaves to others: who the bodies are and where outside is (`cli`, `scene`).
//!
//! ```text
//! ask  answer  moves   the question, the answer, the answer in words
//! plan                 searches side by side, in rounds of equal work
//! lane  tight          one search: trees from both ends, and from tight places
//! pull                 straight ways off a tight seat
//! grow  tree           a tree toward a pose, along what stops it | poses, and the nearest to another
//! shorten  proof       fewer steps | every instant of a step free
//! order                an order of assembly, found backwards
//! bay  mover  dice     what stands in the way | the body and its steps | seeded chance
//! ```

mod answer;
mod ask;
mod bay;
mod dice;
mod error;
mod grow;
mod lane;
mod mover;
mod moves;
mod order;
mod plan;
mod proof;
mod pull;
mod shorten;
mod tight;
mod tree;

pub use answer::{Answer, Effort, Ended, Impossible, NoneFound, Way};
pub use ask::{Finish, Options, WayAsk};
pub use bay::Obstacle;
pub use error::WayError;
pub use moves::{Move, seat_words};
pub use order::{Leaves, Order, Stuck, order};
pub use plan::way_in;
