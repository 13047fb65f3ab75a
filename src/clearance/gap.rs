//! The questions one may ask. (Skeleton.)

use std::sync::Arc;

use nalgebra::{Point3, Unit, Vector3};

use crate::solid::Shape;
use crate::space::{Length, Pose};

/// A shape with the tree that makes its gaps fast. Built once a body; cheap to clone.
#[derive(Clone, Debug)]
pub struct IndexedShape {
    shape: Arc<Shape>,
}

impl IndexedShape {
    /// Builds the tree.
    pub fn new(shape: Arc<Shape>) -> Self {
        IndexedShape { shape }
    }
    /// The shape it was built from.
    pub fn shape(&self) -> &Arc<Shape> {
        &self.shape
    }
}

/// Where a gap is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Witness {
    /// On the fixed solid's surface, fixed frame.
    pub on_fixed: Point3<f64>,
    /// On the moving solid's surface, fixed frame.
    pub on_moving: Point3<f64>,
    /// The direction in which the moving solid is pushed to widen the gap, fixed frame.
    pub normal: Unit<Vector3<f64>>,
}

/// A signed gap and where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Negative is overlap depth: moving the moving solid along the normal by it just parts them.
    pub gap: Length,
    /// Where.
    pub witness: Witness,
}

/// The answer of [`gap_under`]; either is proved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GapUnder {
    /// The gap is at least the limit.
    Clear {
        /// A proved lower bound, at least the limit.
        at_least: Length,
    },
    /// The gap is under the limit.
    Under(Gap),
}

/// The signed gap between two solids; the witness is in the fixed one's frame.
pub fn gap(_fixed: &IndexedShape, _moving: &IndexedShape, _fixed_from_moving: &Pose) -> Gap {
    unimplemented!()
}

/// Whether the gap is under a limit, and if so what it is.
pub fn gap_under(
    _fixed: &IndexedShape,
    _moving: &IndexedShape,
    _fixed_from_moving: &Pose,
    _limit: Length,
) -> GapUnder {
    unimplemented!()
}

/// Whether two solids overlap or touch.
pub fn touches(_fixed: &IndexedShape, _moving: &IndexedShape, _fixed_from_moving: &Pose) -> bool {
    unimplemented!()
}
