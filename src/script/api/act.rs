//! Changing the scene.

use rhai::{Dynamic, Map};

use crate::script::book::{Chapter, Entry, Style};
use crate::script::kind::Kind;
use crate::script::placing::Placing;

/// The chapter.
pub(in crate::script) const CHAPTER: Chapter = Chapter {
    title: "Changing the scene",
    entries: &[
        Entry {
            name: "place",
            style: Style::Function,
            params: &[
                ("name", Kind::Text),
                ("shape", Kind::Shape),
                ("where", Kind::Where),
                ("options", Kind::Map),
            ],
            optional: 1,
            returns: "a body",
            says: "places a candidate",
            run: |call| {
                let (name, form, stand) = (call.text(0)?, call.shape(1)?, call.place(2)?);
                let map = if call.given(3) { call.map(3)? } else { Map::new() };
                let placing = Placing::read(&map, call.reader, &call.desk.borrow())
                    .map_err(|fault| fault.at_argument(3))?;
                let view = call.desk.borrow_mut().place(&name, &form, &stand, placing, call.span.clone())?;
                Ok(Dynamic::from(view))
            },
        },
        Entry {
            name: "move_body",
            style: Style::Function,
            params: &[("body", Kind::Body), ("where", Kind::Where)],
            optional: 0,
            returns: "nothing",
            says: "stands a body elsewhere; what carries it stays the same. Moving a kept one is a finding",
            run: |call| {
                let (id, stand) = (call.body(0)?, call.place(1)?);
                call.desk.borrow_mut().move_body(id, &stand, call.span.clone())?;
                Ok(Dynamic::UNIT)
            },
        },
        Entry {
            name: "remove_body",
            style: Style::Function,
            params: &[("body", Kind::Body)],
            optional: 0,
            returns: "nothing",
            says: "takes a body out, with its joints and service points. Removing a kept one is a finding",
            run: |call| {
                let id = call.body(0)?;
                call.desk.borrow_mut().remove_body(id, call.span.clone())?;
                Ok(Dynamic::UNIT)
            },
        },
        Entry {
            name: "rename_body",
            style: Style::Function,
            params: &[("body", Kind::Body), ("name", Kind::Text)],
            optional: 0,
            returns: "nothing",
            says: "gives a body another name; rules, joints and service points follow. Renaming a kept one is a finding",
            run: |call| {
                let (id, name) = (call.body(0)?, call.text(1)?);
                call.desk.borrow_mut().rename_body(id, &name, call.span.clone())?;
                Ok(Dynamic::UNIT)
            },
        },
        Entry {
            name: "join",
            style: Style::Function,
            params: &[("one", Kind::Body), ("other", Kind::Body), ("by", Kind::Text)],
            optional: 0,
            returns: "nothing",
            says: "says that two bodies are fastened to each other and by what, so that their touching is meant",
            run: |call| {
                let (one, other, by) = (call.body(0)?, call.body(1)?, call.text(2)?);
                if one == other {
                    return Err(call.refuse(1, "a body cannot be joined to itself", "name two bodies"));
                }
                if by.trim().is_empty() {
                    return Err(call.refuse(
                        2,
                        "`join` does not say what fastens them",
                        "write `\"four M10 studs\"`, or whatever holds them",
                    ));
                }
                call.desk.borrow_mut().join(one, other, by.trim(), call.span.clone())?;
                Ok(Dynamic::UNIT)
            },
        },
        Entry {
            name: "note",
            style: Style::Function,
            params: &[("text", Kind::Text)],
            optional: 0,
            returns: "nothing",
            says: "leaves a remark in the scene",
            run: |call| {
                let text = call.text(0)?;
                call.desk.borrow_mut().note(&text)?;
                Ok(Dynamic::UNIT)
            },
        },
    ],
};
