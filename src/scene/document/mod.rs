//! A scene file being edited: comments and order stay, for an edit touches only the bytes it must.
//!
//! Each edit is a splice of the text at places that the tree knows; the new text is then read as any
//! scene is, and an edit that does not load is not taken. Leaves to others: what to edit (`script`).

mod error;
mod flow;
mod scene_document;
mod splice;

pub use error::EditError;
pub use scene_document::SceneDocument;
