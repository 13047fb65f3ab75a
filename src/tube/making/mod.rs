//! Whether a tube can be made, and how: benders, stock bends, pie cuts.
//!
//! `rules` asks a bender about a tube and gives findings; `bender`, `stock_bend` and `pie_cut` are the three
//! ways to a bend; `wall` says what bending does to the wall. Leaves to others: whether the tube clears
//! anything, documents.

mod bender;
mod finding;
mod pie_cut;
mod rules;
mod stock_bend;
#[cfg(test)]
mod tests;
mod wall;

pub use bender::{Bender, Die, Springback};
pub use finding::{MakingFinding, MakingRule, Remedy, Weight};
pub use pie_cut::PieCuts;
pub use rules::{Making, check_making, with_radius};
pub use stock_bend::{StockBend, StockChoice, StockPlan, plan_from_stock};
pub use wall::{outer_strain, outer_wall_mm, radius_for_thinning_mm};
