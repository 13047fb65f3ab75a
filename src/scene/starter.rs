//! The scene that `new` writes for someone to start from.

/// A commented scene that loads as it stands: a small invented bay, taped, with a candidate in it.
pub fn new_scene_text() -> &'static str {
    include_str!("starter.yaml")
}
