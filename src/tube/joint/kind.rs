//! The kinds of joint.

/// A kind of joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JointKind {
    /// Welded round.
    Weld,
    /// Two flared flanges drawn together by a band.
    VBand,
    /// One tube slid into the other and clamped.
    Slip,
    /// Two plates bolted together.
    Flange,
    /// A hose over beaded ends, clamped on both.
    Coupler,
    /// A corrugated length.
    Bellows,
}

impl JointKind {
    /// All kinds.
    pub const ALL: [JointKind; 6] = [
        JointKind::Weld,
        JointKind::VBand,
        JointKind::Slip,
        JointKind::Flange,
        JointKind::Coupler,
        JointKind::Bellows,
    ];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            JointKind::Weld => "weld",
            JointKind::VBand => "v-band",
            JointKind::Slip => "slip",
            JointKind::Flange => "flange",
            JointKind::Coupler => "coupler",
            JointKind::Bellows => "bellows",
        }
    }

    /// The kind that a word names.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }
}
