//! Materials.

use super::keys::{KeyTable, must};
use super::table::Table;
use super::value::{number, text};
use super::{Cx, Named};
use crate::scene::read::Node;

/// A material.
pub(crate) const MATERIAL: KeyTable = KeyTable {
    title: "a material",
    intro: "What a body is made of. A scene's own material replaces one of the library of the same name.",
    keys: &[
        must("density", "number, kg/m^3", "7850", "Mass of a cubic metre."),
        must("source", "text", "data sheet of the bar", "Where the figure comes from."),
    ],
};

/// A material as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenMaterial {
    pub name: Named,
    pub density_kg_m3: f64,
    pub source: String,
}

pub(super) fn material(cx: &Cx<'_>, name: Named, node: &Node) -> Option<WrittenMaterial> {
    let table = Table::open(cx, node, &MATERIAL)?;
    let density = table.get("density").and_then(|node| number(cx, node, "the density"));
    let source = table.get("source").and_then(|node| text(cx, node, "the source", "`source: data sheet`"));
    Some(WrittenMaterial { name, density_kg_m3: density?, source: source?.text })
}
