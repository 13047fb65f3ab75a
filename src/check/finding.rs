//! One line of the report: what, where, how much, by which rule, what would cure it.

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use crate::space::Length;

use super::{Figure, GapReadings};

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
    /// Stable code of the kind of check: `room`, `kept`, `see`, `touch`, `turn`, `pull`, `pour`, `plug`,
    /// `wrench`, `clamp`, `lift-out`, `caution` (whose verdict is always `clear`) and others.
    pub code: &'static str,
    /// Verdict.
    pub verdict: Verdict,
    /// Bodies concerned: the two of a pair, or the one served.
    pub bodies: Vec<String>,
    /// Least gap or opening required.
    pub required: Option<Length>,
    /// Gap or opening found, wrap and coating on; negative is overlap depth.
    pub actual: Option<Length>,
    /// The same gap with every carrier at rest, when it differs.
    pub at_rest: Option<Length>,
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
    /// For a service point: all figures that it was judged by.
    pub figures: Vec<Figure>,
    /// For a service point: what it was judged by, to be drawn.
    pub shown: Vec<super::Shown>,
}

/// How the pairs of a scene were treated; they add up to all pairs there are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct PairCount {
    /// Examined against a room rule that names them.
    pub by_rule: usize,
    /// Examined only against the built-in rule that no two bodies may meet.
    pub by_default: usize,
    /// Declared joined.
    pub joined: usize,
    /// Two pieces of kept equipment, taken as the factory left them.
    pub kept: usize,
    /// Of the examined ones, how many were proved clear.
    pub clear: usize,
}

/// All that a check found, worst first.
#[derive(Clone, Debug, Default)]
pub struct Findings {
    /// Findings, worst verdict first, then least margin. Clear pairs are counted in `pairs`, not listed;
    /// clear service points are listed.
    pub list: Vec<Finding>,
    /// How the pairs were treated.
    pub pairs: PairCount,
    /// Bodies declared joined, with their gap at rest.
    pub joined: Vec<JoinedPair>,
    /// For each undecided gap, which readings would narrow it most.
    pub readings: Vec<GapReadings>,
    /// What was not checked, in sentences.
    pub not_checked: Vec<String>,
}

/// Two bodies that a scene declares fastened together, as measured.
#[derive(Clone, Debug, PartialEq)]
pub struct JoinedPair {
    /// One body.
    pub one: String,
    /// The other.
    pub other: String,
    /// By what.
    pub by: String,
    /// Their gap at rest, covers left off; negative is overlap depth; `None` where a large scan or mesh overlaps
    /// the other: how deep is not measured then.
    pub gap: Option<Length>,
}

impl Findings {
    /// Which readings would narrow the gap of a finding; `None` unless it is an undecided gap.
    pub fn readings_for(&self, finding: &Finding) -> Option<&GapReadings> {
        let undecided = finding.code == "room" && finding.verdict == Verdict::Undecided;
        undecided.then(|| self.readings.iter().find(|gap| gap.bodies[..] == finding.bodies[..])).flatten()
    }

    /// The worst verdict there is; clear when there is no finding.
    pub fn worst(&self) -> Verdict {
        self.list.iter().map(|finding| finding.verdict).max().unwrap_or(Verdict::Clear)
    }

    /// How many findings have a verdict.
    pub fn count(&self, verdict: Verdict) -> usize {
        self.list.iter().filter(|finding| finding.verdict == verdict).count()
    }

    /// Worst verdict first, then least margin, then names: an order that depends on nothing else.
    pub(super) fn sort(&mut self) {
        let margin = |finding: &Finding| match (finding.actual, finding.required) {
            (Some(actual), Some(required)) => (actual - required).mm(),
            _ => f64::INFINITY,
        };
        self.list.sort_by(|a, b| {
            b.verdict
                .cmp(&a.verdict)
                .then(margin(a).total_cmp(&margin(b)))
                .then_with(|| a.code.cmp(b.code))
                .then_with(|| a.bodies.cmp(&b.bodies))
        });
    }
}
