//! One line of the report: what, where, how much, by which rule, what would cure it.

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use crate::space::Length;

/// The verdict on one question, by ISO 14253-1: a measured gap with expanded uncertainty U meets a
/// limit only when it exceeds it by U, and breaks it only when it falls short by U.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// The limit is met even when the measurements are off by U.
    Clear,
    /// The uncertainty straddles the limit: the measurements cannot decide.
    Undecided,
    /// The limit is broken even when the measurements are off by U.
    Short,
    /// The bodies meet.
    Touching,
}

impl Verdict {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Verdict::Clear => "clear",
            Verdict::Undecided => "undecided",
            Verdict::Short => "short",
            Verdict::Touching => "touching",
        }
    }
}

/// Where a finding is, at the worst pose of the movement, in vehicle axes.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// On the first body.
    pub on_first: Point3<f64>,
    /// On the second body.
    pub on_second: Point3<f64>,
    /// The pose in words: `engine rock +3.0 deg, bounce -4.0 mm`; `at rest` when nothing moves.
    pub pose: String,
    /// Carrier name and the values of its freedoms (radians or mm) at that pose.
    pub values: Vec<(String, Vec<f64>)>,
}

/// The smallest straight move found that would cure a finding.
#[derive(Clone, Debug, PartialEq)]
pub struct Cure {
    /// The body to move.
    pub body: String,
    /// How, vehicle axes, mm.
    pub shift: Vector3<f64>,
    /// Whether the check was run again with the body there and every pair of it was clear.
    pub proved: bool,
}

/// One line of the report.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Stable code of the kind of check: `room`, `kept`, `reach`, `turn`, `pour`, `lift-out`.
    pub code: &'static str,
    /// Verdict.
    pub verdict: Verdict,
    /// Bodies concerned: the two of a pair, or the one served.
    pub bodies: Vec<String>,
    /// Least gap or opening required.
    pub required: Option<Length>,
    /// Gap or opening found, wrap and coating on; negative is overlap depth.
    pub actual: Option<Length>,
    /// Expanded uncertainty U (k = 2).
    pub uncertainty: Option<Length>,
    /// Where.
    pub place: Option<Place>,
    /// The rule in words, and where it is written.
    pub rule: String,
    /// Why the rule is.
    pub because: String,
    /// What would cure it.
    pub cure: Option<Cure>,
    /// One sentence for a person.
    pub message: String,
}

/// All that a check found, worst first.
#[derive(Clone, Debug, Default)]
pub struct Findings {
    /// Findings, worst verdict first, then least margin; `clear` ones last.
    pub list: Vec<Finding>,
    /// Pairs that a rule names and that were examined.
    pub pairs_examined: usize,
    /// Pairs that no rule names, so that nothing is said of them.
    pub pairs_without_rule: usize,
    /// What was not checked, in sentences.
    pub not_checked: Vec<String>,
}
