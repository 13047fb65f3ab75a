//! Visiting pairs of tree nodes.
//!
//! ```text
//! search   the least gap: a few pairs of each level straight down for a first guess, then all the rest
//! contact  whether anything meets at all
//! front    what a search proved, kept for the next question after a small move
//! leaf     the items of two leaves
//! pair     two solids as they stand to each other; opening a pair of boxes
//! ```

mod contact;
mod front;
mod item;
mod leaf;
mod pair;
mod search;

use super::convex::Nearest;

pub(crate) use contact::{LastMet, meeting, meeting_again};
pub(crate) use front::{Front, least_gap_kept};
pub(crate) use item::Moved;
pub(crate) use pair::descends_first;
pub(crate) use search::least_gap;

/// A pair of items and their gap.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Found {
    pub nearest: Nearest,
    pub items: (u32, u32),
}

/// What a walk came to.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Outcome {
    /// Nothing is nearer than `at_least_mm`, which is the limit asked for or more.
    Beyond { at_least_mm: f64 },
    /// The least gap, above zero.
    Apart(Found),
    /// Two items that meet (not necessarily the deepest).
    Meeting(Found),
}
