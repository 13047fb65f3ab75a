//! From points measured along an existing pipe to its straights and bends.
//!
//! `segment` decides which points lie on a straight and which on a bend; `model` is the tube that they
//! make; `refine` fits it to all points at once; `fit` puts them together and judges.

mod fit;
mod model;
mod refine;
mod segment;
#[cfg(test)]
mod tests;

pub use fit::{MeasuredOptions, MeasuredTube, fit_measured};
