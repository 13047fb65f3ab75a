//! What is wrong with a document: each fault with its place, the offending text and a remedy.
//!
//! Faults are gathered, so that a reader mends a file once and not once a fault.

mod fault;
mod gather;
mod nearest;
mod report;

pub use fault::Fault;
pub(crate) use gather::Faults;
pub(crate) use nearest::nearest;
pub use report::{SceneError, SceneErrors};
