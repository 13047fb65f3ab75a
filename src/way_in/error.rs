//! What a question may lack.

/// Why no way was looked for.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WayError {
    /// Nowhere to come from.
    #[error("no start pose was given; name at least one pose outside")]
    NoStart,
    /// A figure that is no number, or too great for one.
    #[error("{what} is not finite; give plain numbers")]
    NotFinite {
        /// Which.
        what: &'static str,
    },
    /// The allowed room holds no point.
    #[error("the room that the body may move in is empty; its least corner must lie under its greatest")]
    NoRoom,
    /// A step that leads nowhere.
    #[error("a step of {step_mm} mm; it must be greater than zero")]
    Step {
        /// As given, mm.
        step_mm: f64,
    },
    /// A body without surface.
    #[error("the body has no surface, so there is nothing to move")]
    NoBody,
}
