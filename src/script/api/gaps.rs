//! Reading gaps back.

use std::sync::Arc;

use rhai::{Dynamic, Map};

use crate::script::ask::{Asked, Gap, Question, When};
use crate::script::book::{Call, Chapter, Entry, Style};
use crate::script::fault::Fault;
use crate::script::kind::Kind;
use crate::script::values::Spot;

/// The chapter.
pub(in crate::script) const CHAPTER: Chapter = Chapter {
    title: "Gaps",
    entries: &[
        Entry {
            name: "gap",
            style: Style::Function,
            params: &[("first", Kind::Body), ("second", Kind::Body)],
            optional: 0,
            returns: "a number",
            says: "the gap between two bodies at rest, wrap, coating and sheath on; negative is overlap depth",
            run: |call| ask(call, When::AtRest).map(|gap| call.shown(gap.gap.mm())),
        },
        Entry {
            name: "gap_over",
            style: Style::Function,
            params: &[("first", Kind::Body), ("second", Kind::Body)],
            optional: 0,
            returns: "a number",
            says: "the least gap over all movements of their carriers: the proved lower bound",
            run: |call| ask(call, When::OverMovement).map(|gap| call.shown(gap.gap.mm())),
        },
        Entry {
            name: "nearest_places",
            style: Style::Function,
            params: &[("first", Kind::Body), ("second", Kind::Body)],
            optional: 0,
            returns: "a map",
            says: "the gap at rest as `gap`, and where it is: `on_first`, `on_second`",
            run: |call| {
                let gap = ask(call, When::AtRest)?;
                let mut map = Map::new();
                map.insert("gap".into(), call.shown(gap.gap.mm()));
                map.insert("on_first".into(), Dynamic::from(Spot { at: gap.on_first }));
                map.insert("on_second".into(), Dynamic::from(Spot { at: gap.on_second }));
                Ok(Dynamic::from_map(map))
            },
        },
    ],
};

fn ask(call: &Call, when: When) -> Result<Gap, Fault> {
    let (one, other) = (call.body(0)?, call.body(1)?);
    if one == other {
        return Err(call.refuse(1, "a body has no gap to itself", "name two bodies"));
    }
    let mut desk = call.desk.borrow_mut();
    if desk.asked.len() >= desk.options.gaps {
        return Err(Fault::limit("the script asks for more gaps than it may", "gaps", desk.options.gaps));
    }
    let (first, second) = (desk.body(one)?.name.clone(), desk.body(other)?.name.clone());
    let scene = Arc::clone(&desk.scene);
    let answer = desk.line.ask(Question { scene, first: first.clone(), second: second.clone(), when });
    if let Some(fault) = desk.out_of_time() {
        return Err(fault);
    }
    let message = answer
        .as_ref()
        .err()
        .map(|reason| format!("the gap between `{first}` and `{second}` is not known: {reason}"));
    desk.asked.push(Asked { first, second, when, answer: answer.clone(), span: call.span.clone() });
    answer.map_err(|_| {
        Fault::new(
            "script::gap",
            message.unwrap_or_default(),
            "see that both bodies have a shape that can be measured",
        )
    })
}
