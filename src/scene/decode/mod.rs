//! From the tree to what is written, map by map: one file a kind of thing, each with its list of
//! keys. Leaves to others: whether names that are written exist (`resolve`).

mod body;
mod carrier;
mod document;
mod fit;
mod frame;
pub(crate) mod keys;
mod lists;
mod material;
mod people;
mod rule;
mod service;
mod shape;
mod survey;
mod table;
mod value;

use crate::scene::error::{Fault, Faults};
use crate::scene::read::{Node, Place};
use crate::space::LengthUnit;

pub(crate) use body::{WrittenBody, WrittenForm};
pub(crate) use carrier::{WrittenCarrier, WrittenFreedom};
pub(crate) use document::{Written, document};
pub(crate) use fit::{FitKind, WrittenFit};
pub(crate) use frame::{Orientation, WrittenFrame, WrittenPose};
pub use lists::format_reference;
pub(crate) use material::WrittenMaterial;
pub(crate) use people::{ReachSize, WrittenOpening, WrittenReach, WrittenStanding};
pub(crate) use rule::{WrittenJoined, WrittenRole, WrittenRule};
pub(crate) use service::{WrittenOpeningSize, WrittenService};
pub(crate) use shape::{PathIn, WrittenShape, cloud_of, z_onto};
pub(crate) use survey::{WrittenAlign, WrittenDatum, WrittenSurvey};
pub(crate) use value::WrittenDirection;

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
