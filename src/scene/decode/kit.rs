//! The parts of a kit, and how long the steps of mounting them take.

use super::keys::{KeyTable, must};
use super::table::Table;
use super::value::{number, text};
use super::{Cx, Named};
use crate::scene::error::Fault;
use crate::scene::read::Node;

/// A step's time.
pub(crate) const STEP_TIME: KeyTable = KeyTable {
    title: "a step time",
    intro: "How long one step of mounting takes. Its name is looked for in the words that say what fastens a part (`by`), the longest name that is there counts, once for each of the number that stands before it; `part` counts once a part and `move` once a move. A scene's own replaces one of the library of the same name.",
    keys: &[
        must("minutes", "number", "6", "Minutes."),
        must("source", "text", "timed on five jobs", "Where the figure comes from."),
    ],
};

/// A step's time as written.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub(crate) struct WrittenStepTime {
    pub name: Named,
    pub minutes: f64,
    pub source: String,
}

pub(super) fn step_time(cx: &Cx<'_>, name: Named, node: &Node) -> Option<WrittenStepTime> {
    let table = Table::open(cx, node, &STEP_TIME)?;
    let minutes = table.get("minutes").and_then(|node| {
        let minutes = number(cx, node, "the minutes")?;
        if (0.0..=10_000.0).contains(&minutes) {
            return Some(minutes);
        }
        let (found, limit) = (format!("{minutes}"), "it must be from 0 to 10 000".to_owned());
        let remedy = "give the minutes that the step takes once";
        cx.add(node, Fault::Range { what: "the minutes of a step".to_owned(), found, limit, remedy });
        None
    });
    let source = table.get("source").and_then(|node| text(cx, node, "the source", "`source: timed here`"));
    Some(WrittenStepTime { name, minutes: minutes?, source: source?.text })
}
