//! The document: YAML schema, resolving to bodies, validation with line and column, saving,
//! packing, comparing.
//!
//! [`Scene`] is the resolved model that the rest of the upper wing reads. Leaves to others: what
//! is true of it (`check`).

mod model;

pub use model::{
    Body, Carrier, FitEvidence, Frame, Joined, Note, Placement, Role, RoomRule, RuleSide, Scene, ServiceKind,
    ServicePoint, Span, StandingPlace, SurveyRead,
};
