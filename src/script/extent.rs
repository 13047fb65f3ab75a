//! Bounds of a body where it stands.

use crate::solid::Shape;
use crate::space::{Bounds, Pose};

pub(super) fn bounds(shape: &Shape, world_from_shape: &Pose) -> Bounds {
    shape.bounds().moved(world_from_shape)
}
