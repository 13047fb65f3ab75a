//! Scene in, findings out: the one place that knows every kind of check.
//!
//! One file a kind: `room` (gaps of pairs; `places`: at every place of them), `joined` (what is declared fastened), `making` (whether
//! the job's tubes can be made), `joints` (whether tubes' joints take up movement and growth), `flow` (what a tube's flow costs), `kept` (factory
//! equipment that must stay; `kept_table` lays it before and after), `service` (what a person must reach). [`Checker`] runs them all; a new kind
//! is a file and a line in its list. `tight` shows all of what a pair has too little room for. Leaves to others: how a gap is found (`clearance`, `motion`), how a
//! finding is shown (`report`, `view`).

mod broad;
mod checker;
mod cure;
mod decide;
mod figure;
mod finding;
mod flow;
mod growth;
mod hoses;
mod joined;
mod joint_ends;
mod joints;
mod kept;
mod kept_table;
mod making;
mod memory;
mod narrow;
mod obstacles;
mod pair;
mod places;
mod room;
mod rules;
mod service;
mod session;
mod shown;
mod tight;
mod uncertainty;

pub use checker::{CheckOptions, Checker, KeptPairs};
pub use decide::decide;
pub use figure::{Figure, FigureUnit};
pub use finding::{Cure, Finding, Findings, JoinedPair, PairCount, Place, Verdict};
pub use flow::{bore_mm, flow_words};
pub use growth::tubes_in;
pub use joint_ends::joint_ends;
pub use kept_table::{Change, FigureChange, KeptChange, KeptTable, PointChange, kept_table};
pub use narrow::{GapReadings, Narrowing};
pub use obstacles::route_obstacles;
pub use pair::{GAP_TOLERANCE, PairGap, Poses, ShapeStore, pose_words};
pub use session::{SessionReading, session_readings};
pub use shown::Shown;
pub use tight::Tight;
pub use uncertainty::COVERAGE;
