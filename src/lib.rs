//! Baywright: a trustworthy stand-in for a vehicle's engine bay.
//!
//! The library has two wings. The lower one is pure: solids, poses and movements in, answers
//! out. The upper one is the document (a scene) and what people do with it. Each floor imports
//! only from those under it, and no two rooms of a floor import each other; `tests/house.rs`
//! fails when that stops being true.
//!
//! ```text
//! cli
//! view  report
//! script
//! check  assembly
//! scene
//! ---------------- upper wing above, lower wing below
//! way_in  access  route
//! tube  hose  calc  survey
//! motion
//! clearance
//! solid
//! space
//! ```
//!
//! Lengths are millimetres and angles radians inside; units exist only where text is read or
//! written. Axes: x rearward, y to the vehicle's right, z up (the sense of SAE J182 / ISO 4130).

pub use baywright_lower::{access, calc, clearance, hose, motion, route, solid, space, survey, tube, way_in};

pub mod assembly;
pub mod check;
pub mod cli;
pub mod report;
pub mod scene;
pub mod script;
#[cfg(feature = "viewer")]
pub mod view;
