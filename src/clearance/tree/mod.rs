//! Trees of oriented boxes over the items of a solid.
//!
//! Four children a node, their boxes side by side in f32 so that one box is compared with four at
//! a time; a node is 256 bytes, four cache lines. Bounds are rounded outward and every bound
//! computed from them gives back a slack that covers f32, so that they never lie.
//! Leaves to others: what the items are (`index`), in which order pairs are visited (`walk`).

mod bound;
mod build;
mod fit;
mod lanes;
mod layout;

pub(crate) use bound::{
    Frame32, Relative, apart_along, boxes_below, boxes_overlap, boxes_spans, from_origin, point_below,
};
pub(crate) use build::{Items, build};
pub(crate) use layout::{Box32, Child, Node, Tree};
