//! A scene with all it names as one file, to be sent and opened elsewhere.
//!
//! A zip: `manifest.json` with the SHA-256 and size of every file, and the files under `scene/`, in
//! sorted order with one fixed date, so that the same scene gives the same bytes. What comes from a
//! stranger is unpacked only when everything about it is as the manifest says.

mod error;
mod manifest;
mod pack;
mod unpack;

pub use error::ArchiveError;
pub use pack::{Packed, pack};
pub use unpack::{UnpackLimits, Unpacked, unpack, unpack_with};
