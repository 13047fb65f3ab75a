//! Wrap-around templates: what a cut looks like on paper that is wrapped round the tube.
//!
//! `saddle` and `mitre` make the curves; `unroll` follows a curve closely enough; `svg` and `pdf` draw a template
//! at full size with a square to check the printer by. Leaves to others: writing files.
//!
//! On paper x runs round the tube and y along it, millimetres.

mod leaf;
mod mitre;
mod pages;
mod pdf;
mod saddle;
mod sheet;
mod svg;
#[cfg(test)]
mod tests;
mod unroll;

pub use leaf::{Leaf, leaf_size_mm, leaves_pdf, leaves_svg};
pub use mitre::Mitre;
pub use pages::Paper;
pub use pdf::template_pdf;
pub use saddle::{Saddle, SaddleError};
pub use sheet::{CHECK_SQUARE_MM, Label, Template};
pub use svg::template_svg;
