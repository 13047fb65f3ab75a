//! Overlapping solids: how far and which way to move one so that they part.
//!
//! For two convex bodies the shortest push is known exactly. For anything else directions are
//! tried, the ways in which single pieces part among them, and along each one the travel is
//! followed exactly: as long as some pair of pieces overlaps, on to where the last of them parts.
//! So for every smaller travel along the direction found the solids still overlap, and the
//! travel is an upper bound on the true depth. Leaves to others: one direction (`along`), pairs of pieces (`convex`).

mod along;
mod depth;

pub(crate) use along::parts_within;
pub(crate) use depth::{CONTACT_MM, depth};
