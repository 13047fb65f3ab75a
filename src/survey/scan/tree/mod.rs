//! Neighbours among points: a k-d tree of our own.
//!
//! `build.rs` splits, `nearest.rs` finds one, `several.rs` the k nearest, `within.rs` all in a ball. Equal
//! distances are told apart by the points' numbers, so the answer depends on the points alone.
//!
//! # Source
//! Splitting at the median: Friedman, Bentley and Finkel, ACM TOMS 3 (1977) 209-226. Distance to a cell kept up
//! while descending: Arya and Mount, Proc. Data Compression Conference (1993) 381-390.

mod build;
mod nearest;
mod several;
#[cfg(test)]
mod tests;
mod within;

pub use build::PointTree;
pub use nearest::Neighbour;
pub(super) use several::Following;
