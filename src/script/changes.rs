//! What a script did to the scene, in the end.

use crate::scene::Span;
use crate::space::Pose;

/// What became of one body. Only the end counts: a body moved away and back is not listed.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// The body's name: the new one; of a removed body its last name in the first scene.
    pub body: String,
    /// What became of it.
    pub deed: Deed,
    /// Factory equipment that must stay: the change is a finding.
    pub kept: bool,
    /// The script's last call that touched it.
    pub span: Span,
}

/// What became of a body. A body may be both renamed and moved: it is then listed twice.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Deed {
    /// It is new: a candidate.
    Added,
    /// It stands elsewhere.
    Moved {
        /// Where it stood.
        from: Pose,
        /// Where it stands now.
        to: Pose,
    },
    /// It is gone.
    Removed {
        /// Service points that went with it.
        service: Vec<String>,
    },
    /// It has another name; rules, joints and service points follow.
    Renamed {
        /// Its name in the first scene.
        from: String,
    },
}

impl Deed {
    /// The word for it: `added`, `moved`, `removed`, `renamed`.
    pub const fn word(&self) -> &'static str {
        match self {
            Deed::Added => "added",
            Deed::Moved { .. } => "moved",
            Deed::Removed { .. } => "removed",
            Deed::Renamed { .. } => "renamed",
        }
    }
}
