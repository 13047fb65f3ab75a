//! The lower wing of Baywright's house: solids, poses and movements in, answers out.
//!
//! It has never heard of scenes, scripts, verdicts or windows. Each floor imports only from those under it, and no two
//! rooms of a floor import each other; `tests/house.rs` fails when that stops being true. The package `baywright`
//! gives all of it on under its own name.
//!
//! ```text
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

pub mod access;
pub mod calc;
pub mod clearance;
pub mod hose;
pub mod motion;
pub mod route;
pub mod solid;
pub mod space;
pub mod survey;
pub mod tube;
pub mod way_in;
