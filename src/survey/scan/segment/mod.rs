//! Which points of a scan lie on one plane, cylinder or sphere, and what is left.
//!
//! `run.rs` draws, judges and takes feature after feature; `draw.rs` makes a candidate from two or three points and their normals;
//! `surface.rs` says what lies on it; `polish.rs` improves a candidate on a few hundred points; `connected.rs` keeps one
//! connected piece; `feature.rs` refines what is taken by the fits of readings. Same points and seed, same answer, whatever
//! the number of threads. Leaves to others: normals, and what a feature becomes as a body.
//!
//! # Source
//! Schnabel, Wahl and Klein, Computer Graphics Forum 26 (2007) 214-226: candidates from oriented points drawn near each
//! other, judged on a part of the points first, largest connected piece taken. Written anew from that description.

mod chance;
mod connected;
mod draw;
mod feature;
mod options;
mod polish;
mod run;
mod surface;
#[cfg(test)]
mod tests;

pub use feature::{FeatureShape, ScanFeature};
pub use options::{FeatureKinds, SegmentOptions};
pub use run::{Segmented, segment};
