//! Scene in, findings out: the one place that knows every kind of check.

mod finding;

pub use finding::{Cure, Finding, Findings, Place, Verdict};
