//! Scene in, findings out: the one place that knows every kind of check.
//!
//! One file a kind: `room` (gaps of pairs), `joined` (what is declared fastened), `making` (whether
//! the job's tubes can be made), `joints` (whether tubes' joints take up movement and growth), `kept` (factory
//! equipment that must stay), `service` (what a person must reach). [`Checker`] runs them all; a new kind
//! is a file and a line in its list. `tight` shows all of what a pair has too little room for. Leaves to others: how a gap is found (`clearance`, `motion`), how a
//! finding is shown (`report`, `view`).

mod broad;
mod checker;
mod cure;
mod decide;
mod finding;
mod growth;
mod joined;
mod joints;
mod kept;
mod making;
mod memory;
mod narrow;
mod obstacles;
mod pair;
mod room;
mod rules;
mod service;
mod tight;
mod uncertainty;

pub use checker::{CheckOptions, Checker, KeptPairs};
pub use decide::decide;
pub use finding::{Cure, Finding, Findings, JoinedPair, PairCount, Place, Verdict};
pub use growth::tubes_in;
pub use narrow::{GapReadings, Narrowing};
pub use obstacles::route_obstacles;
pub use pair::{GAP_TOLERANCE, PairGap, Poses, ShapeStore, pose_words};
pub use tight::Tight;
pub use uncertainty::COVERAGE;
