//! The values that a script handles.
//!
//! Millimetres and radians inside, as everywhere; the script sees lengths as numbers in the
//! scene's units (see `kind`).

use std::fmt;
use std::rc::Rc;
use std::sync::Arc;

use nalgebra::{Point3, Unit, Vector3};

use crate::scene::Placement;
use crate::solid::Shape;
use crate::space::{Bounds, Direction, Pose};

/// An angle, radians. A type of its own, so that no length is taken for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct AngleValue {
    pub(super) rad: f64,
}

/// A direction in vehicle axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Heading {
    pub(super) unit: Unit<Vector3<f64>>,
}

/// A point in vehicle axes, or a step from one to another, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Spot {
    pub(super) at: Point3<f64>,
}

/// A pose: where something stands, and with what it moves when that is known.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Stand {
    pub(super) world_from_it: Pose,
    /// Carrier of the frame or body that the pose was taken from.
    pub(super) carried_by: Option<String>,
    /// The frame or body that the pose was taken from: what stands there is known no better than it is.
    pub(super) on: Option<Rc<Base>>,
}

/// A frame or body of the scene, as it stood when a pose was taken from it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Base {
    pub(super) name: String,
    pub(super) world_from_base: Pose,
    pub(super) placement: Placement,
}

/// A shape and how much of the shape budget it took.
#[derive(Clone, Debug)]
pub(super) struct Form {
    pub(super) shape: Arc<Shape>,
}

/// A body of the scene, by a number that survives renaming.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct BodyView {
    pub(super) id: usize,
}

/// Axis-aligned bounds in the axes of whatever they were asked of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct BoundsValue {
    pub(super) bounds: Bounds,
}

/// The scene as the script sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct SceneView;

impl Heading {
    /// The direction's name when it is one of the six.
    pub(super) fn word(&self) -> Option<&'static str> {
        let nearest = Direction::nearest(&self.unit);
        (nearest.unit().dot(&self.unit) > 1.0 - 1e-12).then(|| nearest.word())
    }
}

/// At most six decimals, no trailing zeros, no negative zero.
pub(super) struct Tidy(pub(super) f64);

impl fmt::Display for Tidy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = format!("{:.6}", self.0);
        let text = text.trim_end_matches('0').trim_end_matches('.');
        f.write_str(if text == "-0" { "0" } else { text })
    }
}

impl fmt::Display for AngleValue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} deg", Tidy(self.rad.to_degrees()))
    }
}

impl fmt::Display for Heading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.word() {
            Some(word) => f.write_str(word),
            None => write!(f, "dir({}, {}, {})", Tidy(self.unit.x), Tidy(self.unit.y), Tidy(self.unit.z)),
        }
    }
}
