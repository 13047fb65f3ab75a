//! From what is written to what is: names looked up, files read, poses chained, fits made.

mod carriers;
mod feature;
mod fit;
mod hoses;
mod names;
mod outline;
mod people;
mod poses;
mod rules;
mod scene;
mod service;
mod shapes;
mod surveys;

pub(crate) use hoses::{hose_grown, hose_shape};
pub(crate) use poses::Trace;
pub(crate) use scene::resolve;
