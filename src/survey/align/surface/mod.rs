//! Bringing one scan onto another by their surfaces, from a rough start.
//!
//! `levels.rs` thins a scan to several sizes; `pairs.rs` finds what lies on what; `equations.rs` gathers and solves; `search.rs`
//! goes from coarse to fine; `anywhere.rs` does so when no start is known; `directions.rs` says what the surfaces leave open; `fit.rs` is the answer. Leaves to others: a
//! start, and what is moved.
//!
//! # Source
//! Distance along the normal: Chen and Medioni, Image and Vision Computing 10 (1992) 145-155. Normal of both surfaces and
//! lever midway: Rusinkiewicz, ACM TOG 38 (2019) 85. Robust weights 1/(1 + (r/s)^2)^2: Geman and McClure (1987), s from the
//! median as in Huber, *Robust Statistics* (1981), 5.1.

mod anywhere;
mod directions;
mod equations;
mod fit;
mod levels;
mod options;
mod pairs;
mod search;
#[cfg(test)]
mod tests;

pub use anywhere::{TURNS, align_surfaces_anywhere};
pub use directions::Direction6;
pub use fit::SurfaceFit;
pub use levels::ScanLevels;
pub use options::SurfaceOptions;
pub use search::align_surfaces;
