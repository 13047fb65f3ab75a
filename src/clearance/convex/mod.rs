//! Convex bodies two at a time: distance, depth, and how far along a line they overlap.
//!
//! A [`Convex`] is a core (a point, a segment, a box, two discs...) inflated by a radius. Every
//! question about a pair is asked of the cores; the radii come off the answer, which is exact.
//! Leaves to others: solids of many pieces (`tree`, `walk`), arcs as solids (`bend`).

mod cast;
mod core;
mod depth;
mod descend;
mod expand;
mod flat;
mod nearest;
mod segment;
mod triangle;
mod within;

#[cfg(test)]
mod tests;

pub(crate) use cast::{flat_span, overlap, overlap_exit};
pub(crate) use core::{BendCore, Convex, Core, Disc};
pub(crate) use flat::triangle_span;
pub(crate) use nearest::{Nearest, nearest};
pub(crate) use segment::{on_segment, perpendicular};
#[cfg(test)]
pub(crate) use triangle::triangles;
pub(crate) use triangle::{on_triangle, triangles_under};
pub(crate) use within::triangles_within;
