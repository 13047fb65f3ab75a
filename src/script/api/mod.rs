//! What a script may call: one file a chapter of the book.

pub(super) mod act;
pub(super) mod form;
pub(super) mod gaps;
pub(super) mod look;
pub(super) mod measure;
mod operators;
pub(super) mod stand;

pub(super) use operators::register_operators;
