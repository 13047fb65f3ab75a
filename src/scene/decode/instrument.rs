//! Measuring instruments.

use super::keys::{KeyTable, may, must};
use super::table::Table;
use super::value::{choice, length, size, text};
use super::{Cx, Named};
use crate::scene::read::Node;
use crate::survey::Instrument;

/// An instrument.
pub(crate) const INSTRUMENT: KeyTable = KeyTable {
    title: "an instrument",
    intro: "What a survey, or a row of its file, was measured with. A survey's and a row's own values go before it. A scene's own replaces one of the library of the same name.",
    keys: &[
        must(
            "kind",
            "`tape`, `probe` or `scan`",
            "tape",
            "What it gives: lengths, points by touch, points by the thousand.",
        ),
        must("sigma", "length", "1.5", "Standard uncertainty of one reading (one sigma)."),
        may("per_metre", "length", "0", "0.12", "What each metre of a length adds to `sigma`, in squares."),
        may(
            "hook",
            "length",
            "0",
            "1.5",
            "Added to a length read: the hook's thickness; below zero for a piece not used.",
        ),
        may("thickness", "length", "0", "0.3", "Thickness of a tape that is wrapped round."),
        may("tip", "length", "0, a point", "6", "Diameter of a probe's ball."),
        must("source", "text", "our own trial", "Where the figures come from."),
    ],
};

/// An instrument as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenInstrument {
    pub kind: String,
    pub reads: Instrument,
    pub tip_mm: f64,
    /// Kept for the reference; no answer depends on it.
    #[allow(dead_code)]
    pub source: String,
}

pub(super) fn instrument(cx: &Cx<'_>, name: Named, node: &Node) -> Option<WrittenInstrument> {
    let table = Table::open(cx, node, &INSTRUMENT)?;
    let kind = table
        .get("kind")
        .and_then(|node| choice(cx, node, "a kind of instrument", &["tape", "probe", "scan"]));
    let sigma = table.get("sigma").and_then(|node| size(cx, node, "`sigma`"));
    let optional = |key: &'static str| match table.get(key) {
        Some(node) if key == "hook" => length(cx, node, "`hook`"),
        Some(node) => super::value::extent(cx, node, &format!("`{key}`")),
        None => Some(0.0),
    };
    let (per_metre, hook) = (optional("per_metre"), optional("hook"));
    let (thickness, tip) = (optional("thickness"), optional("tip"));
    let source = table.get("source").and_then(|node| text(cx, node, "the source", "`source: our own trial`"));
    Some(WrittenInstrument {
        kind: kind?,
        reads: Instrument {
            name: name.text,
            sigma_mm: sigma?,
            per_metre_mm: per_metre?,
            hook_mm: hook?,
            thickness_mm: thickness?,
        },
        tip_mm: tip?,
        source: source?.text,
    })
}
