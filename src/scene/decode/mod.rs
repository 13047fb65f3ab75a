//! From the tree to what is written, map by map: one file a kind of thing, each with its list of
//! keys. Leaves to others: whether names that are written exist (`resolve`).

mod bender;
mod body;
mod carrier;
mod cx;
mod document;
mod fit;
mod fit_keys;
mod flow;
mod frame;
mod hoist;
mod hose;
pub(crate) mod instrument;
mod keys;
mod kit;
mod lists;
mod material;
mod people;
mod rule;
mod service;
mod service_keys;
mod shape;
mod survey;
mod table;
mod tool;
mod tube;
mod value;

pub(crate) use body::{WrittenBody, WrittenForm};
pub(crate) use carrier::{WrittenCarrier, WrittenFreedom};
pub(crate) use cx::{Cx, Named};
pub(crate) use document::{Written, document};
pub(crate) use fit::{FitKind, WrittenFit};
pub(crate) use frame::{Orientation, WrittenFrame, WrittenPose};
pub(crate) use hose::WrittenHose;
pub(crate) use instrument::WrittenInstrument;
pub(crate) use kit::WrittenStepTime;
pub use lists::format_reference;
pub(crate) use material::WrittenMaterial;
pub(crate) use people::{ReachSize, WrittenOpening, WrittenReach, WrittenStanding};
pub(crate) use rule::{WrittenJoined, WrittenRole, WrittenRule};
pub(crate) use service::{WrittenOpeningSize, WrittenService};
pub(crate) use shape::{PathIn, WrittenShape, cloud_of, z_onto};
pub(crate) use survey::{WrittenAlign, WrittenDatum, WrittenSurvey};
pub(crate) use value::WrittenDirection;
