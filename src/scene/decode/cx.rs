//! What every decoding function is given, and words with their places.

use crate::scene::error::{Fault, Faults};
use crate::scene::read::{Node, Place};
use crate::space::LengthUnit;

/// What every decoding function needs.
pub(crate) struct Cx<'a> {
    /// Where faults go.
    pub faults: &'a Faults,
    /// What a bare number means in this file.
    pub units: LengthUnit,
}

impl Cx<'_> {
    /// Adds a fault at a node.
    pub fn add(&self, node: &Node, fault: Fault) {
        self.faults.add(node.place.clone(), fault);
    }
}

/// A word with its place.
#[derive(Clone, Debug)]
pub(crate) struct Named {
    /// The word.
    pub text: String,
    /// Where it is written.
    pub place: Place,
}
