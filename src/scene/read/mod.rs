//! Bytes to a tree of nodes that know their places. Leaves to others: what the keys mean
//! (`decode`).

mod node;
mod source;
mod tree;

pub(crate) use node::{Entry, Node, NodeKind, Style};
pub(crate) use source::{LARGEST_DOCUMENT, NotText, Place, Source, text_of};
pub(crate) use tree::tree_of;
