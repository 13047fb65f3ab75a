//! What the bench needs to make a tube: cut length, bend table, marks, weight, and where a jig holds it.
//!
//! Figures only; how they are printed is for others.

mod jig;
mod sheet;
#[cfg(test)]
mod tests;

pub use jig::{JigPoint, JigUse, jig_points};
pub use sheet::{BenchOptions, BenchRow, BenchSheet, bench_sheet};
