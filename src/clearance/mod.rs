//! The gap between two solids.
//!
//! A gap is the signed distance between two solids: how far apart they are, or, negative, how
//! far one must be moved for them to part. Leaves to others: wrap and coating, verdicts
//! (`check`), movements (`motion`).
//!
//! ```text
//! gap  closest  ray     the questions
//! follow  tight         asked again after a small move | all of what is too near
//! parting            overlapping solids: the shortest way apart
//! walk  contained    pairs of boxes, nearest first | what lies inside closed surfaces
//! index  tree        a solid's items | the boxes over them
//! part  bend         one item: convex, or a bend that splits into what is nearly convex
//! convex             two convex bodies
//! ```

pub(crate) mod bend;
mod closest;
pub(crate) mod contained;
pub(crate) mod convex;
mod follow;
pub(crate) mod gap;
pub(crate) mod index;
mod inside;
pub(crate) mod part;
pub(crate) mod parting;
mod ray;
mod tight;
pub(crate) mod tree;
pub(crate) mod walk;

#[cfg(test)]
mod tests;

pub use closest::{closest, distance_under};
pub use follow::Follow;
pub use gap::{ApartUnder, Gap, GapUnder, IndexedShape, Witness, apart_under, gap, gap_under, touches};
pub use ray::{RayHit, ray};
pub use tight::{TightCell, TightPatch, all_under};
