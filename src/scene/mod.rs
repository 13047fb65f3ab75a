//! The document: YAML schema, resolving to bodies, validation with line and column, saving,
//! packing, comparing.
//!
//! [`Scene`] is the resolved model that the rest of the upper wing reads. Leaves to others: what
//! is true of it (`check`).
//!
//! ```text
//! read -> decode -> resolve -> model        document, write_whole: saving        archive: sharing
//! ```

mod archive;
mod decode;
mod diagnose;
mod document;
mod error;
mod folder;
mod library;
mod load;
mod model;
mod read;
mod resolve;
mod service;
mod starter;
mod write_whole;

pub use archive::{ArchiveError, Packed, UnpackLimits, Unpacked, pack, unpack, unpack_with};
pub use decode::format_reference;
pub use document::{EditError, SceneDocument};
pub use error::{Fault, SceneError, SceneErrors};
pub(crate) use model::is_spread;
pub use model::{
    Body, Carrier, FitEvidence, Frame, Hoist, HoseKnown, HoseRun, Joined, Material, Note, Placement, Role,
    RoomRule, RuleSide, Scene, Share, Span, StepTime, SurveyRead, TubeFlow,
};
pub(crate) use resolve::{hose_grown, hose_shape};
pub use service::{SceneMirror, ServiceKind, ServicePoint, ServiceTool, StandingPlace, ToolEntry, WrenchJob};
pub use starter::new_scene_text;
pub use write_whole::write_whole;
