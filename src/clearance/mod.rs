//! The gap between two solids.
//!
//! A gap is the signed distance between two solids: how far apart they are, or, negative, how
//! far one must be moved for them to part. Leaves to others: wrap and coating, verdicts
//! (`check`), movements (`motion`).
//!
//! ```text
//! gap  closest       the questions
//! parting            overlapping solids: the shortest way apart
//! walk  contained    pairs of boxes, nearest first | what lies inside closed surfaces
//! index  tree        a solid's items | the boxes over them
//! part  bend         one item: convex, or a bend that splits into what is nearly convex
//! convex             two convex bodies
//! ```

mod bend;
mod closest;
mod contained;
mod convex;
mod gap;
mod index;
mod inside;
mod part;
mod parting;
mod tree;
mod walk;

#[cfg(test)]
mod tests;

pub use closest::{closest, distance_under};
pub use gap::{Gap, GapUnder, IndexedShape, Witness, gap, gap_under, touches};
