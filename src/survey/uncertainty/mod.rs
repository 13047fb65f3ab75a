//! Combining uncertainties.
