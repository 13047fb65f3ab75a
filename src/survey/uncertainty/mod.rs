//! Standard uncertainties: combining them, and the factors and tests of small samples.
//!
//! After JCGM 100:2008 (GUM). Leaves to others: where an uncertainty comes from.

mod chance;
mod combine;
mod special;

pub use chance::{chi_square_tail, f_tail, normal_below, student_factor};
pub use combine::{
    combine_correlated, combine_uncorrelated, effective_degrees_of_freedom, half_width_sigma,
    resolution_sigma,
};
