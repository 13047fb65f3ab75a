//! What must come out before a body does, or before a place is reached.

use crate::scene::Scene;
use crate::way_in::Answer;

use super::error::AssemblyError;
use super::look::{LEVELS, Look};
use super::order::{OrderAsk, OrderFound, find_order};
use super::seen::Shapes;

/// Whether a goal is reached while some bodies are out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reached {
    /// It is.
    Yes,
    /// It is not seen to be.
    No {
        /// Bodies that stood in the way, the worst first.
        by: Vec<String>,
    },
}

/// What must come out is asked for.
#[derive(Clone, Debug)]
pub struct ComeOutAsk<'a> {
    /// The scene, all mounted.
    pub scene: &'a Scene,
    /// Trees of its bodies.
    pub shapes: &'a Shapes,
    /// What may be taken out.
    pub parts: &'a [String],
    /// How to look.
    pub look: &'a Look<'a>,
}

/// What must come out.
#[derive(Clone, Debug)]
pub struct ComeOut {
    /// Whether the goal is reached once they are out.
    pub reached: bool,
    /// Parts that must come out, in the order in which they do. Where the goal was not reached: those that were out at the
    /// last try.
    pub out: Vec<String>,
    /// The same with their ways, in the order of mounting them again.
    pub ways: Option<OrderFound>,
    /// Whether somebody ended the search before it was through.
    pub cancelled: bool,
    /// What stood in the way when every part was out.
    pub by: Vec<String>,
    /// Whether each of them was seen to be needed: the goal is not reached with it back in. Not where the time ran out, nor of
    /// parts that are out only because they kept others in.
    pub each_needed: bool,
}

/// Whether a body itself comes out while those in `out` are away.
///
/// # Errors
/// As the planner.
pub(super) fn body_comes_out(
    ask: &ComeOutAsk<'_>,
    body: &str,
    out: &[String],
) -> Result<Reached, AssemblyError> {
    let found = ask.scene.body(body).ok_or_else(|| AssemblyError::NoBody { body: body.to_owned() })?;
    let looked = ask.look.at(ask.scene, ask.shapes, found, out, Some(LEVELS[1]))?;
    let name = |by: &usize| looked.seen.names.get(*by).cloned();
    Ok(match &looked.answer {
        Answer::Way(_) => Reached::Yes,
        Answer::NoneFound(none) => {
            Reached::No { by: none.stopped_by.iter().filter_map(|(by, _)| name(by)).collect() }
        }
        Answer::Impossible(why) => {
            let (crate::way_in::Impossible::GoalNotFree { by, .. }
            | crate::way_in::Impossible::StartNotFree { by, .. }) = why;
            Reached::No { by: name(by).into_iter().collect() }
        }
    })
}

/// Says whether a goal is reached with some bodies out.
pub type Asked<'a> = dyn FnMut(&[String]) -> Reached + 'a;

/// Finds which parts must come out before a goal is reached: that of a body which is to come out (`reached` is `None`), or
/// whatever `reached` says with some bodies out.
///
/// Parts that stand in the way are taken out one after the other until the goal is reached; then each is put back if the
/// goal is reached with it as well. So none in the answer can be left in by itself; that no other, smaller set would do is
/// not proved. Parts that keep those in come out with them.
///
/// # Errors
/// A name that is no body; what the planner refuses.
pub fn must_come_out(
    ask: &ComeOutAsk<'_>,
    body: &str,
    reached: Option<&mut Asked<'_>>,
) -> Result<ComeOut, AssemblyError> {
    let mut failed = None;
    let mut own = |out: &[String]| match body_comes_out(ask, body, out) {
        Ok(reached) => reached,
        Err(error) => {
            failed.get_or_insert(error);
            Reached::No { by: Vec::new() }
        }
    };
    let goal: &mut Asked<'_> = match reached {
        Some(reached) => reached,
        None => &mut own,
    };
    let parts: Vec<String> = ask.parts.iter().filter(|part| *part != body).cloned().collect();
    let mut out: Vec<String> = Vec::new();
    let mut last_by = Vec::new();
    let done = loop {
        match goal(&out) {
            Reached::Yes => break true,
            Reached::No { by } => {
                last_by = by;
                if ask.look.over() {
                    break false;
                }
                let next = last_by.iter().find(|by| parts.contains(by) && !out.contains(by)).cloned();
                // Where none of the parts is named, the rest is taken out one by one as well.
                let next = next.or_else(|| parts.iter().find(|part| !out.contains(part)).cloned());
                match next {
                    Some(next) => out.push(next),
                    None => break false,
                }
            }
        }
    };
    let mut each_needed = true;
    if done {
        // The first taken out was the worst in the way: the last is the likeliest to have been taken out in vain.
        for at in (0..out.len()).rev() {
            let without: Vec<String> = out
                .iter()
                .enumerate()
                .filter(|(other, _)| *other != at)
                .map(|(_, name)| name.clone())
                .collect();
            if ask.look.over() {
                each_needed = false;
            } else if goal(&without) == Reached::Yes {
                out.remove(at);
            }
        }
    }
    if let Some(error) = failed {
        return Err(error);
    }
    if !done {
        return Ok(ComeOut {
            reached: false,
            out,
            ways: None,
            by: last_by,
            each_needed: false,
            cancelled: ask.look.cancelled(),
        });
    }
    let needed = out.len();
    let ways = ways_out(ask, &parts, &mut out)?;
    each_needed &= out.len() == needed;
    Ok(ComeOut { reached: true, out, ways, by: Vec::new(), each_needed, cancelled: ask.look.cancelled() })
}

/// How the parts come out among all that stays; parts that keep them in are added.
fn ways_out(
    ask: &ComeOutAsk<'_>,
    parts: &[String],
    out: &mut Vec<String>,
) -> Result<Option<OrderFound>, AssemblyError> {
    if out.is_empty() {
        return Ok(None);
    }
    loop {
        let found = find_order(&OrderAsk {
            scene: ask.scene,
            shapes: ask.shapes,
            kit: out,
            without: &[],
            look: ask.look,
            levels: 2,
            explain: false,
        })?;
        let keeper = found
            .stuck
            .iter()
            .flat_map(|stuck| &stuck.stopped_by)
            .find(|by| parts.contains(by) && !out.contains(by))
            .cloned();
        match keeper {
            Some(keeper) if !ask.look.over() => out.push(keeper),
            _ => {
                let mut order: Vec<String> = found.steps.iter().rev().map(|step| step.part.clone()).collect();
                order.extend(found.stuck.iter().map(|stuck| stuck.part.clone()));
                *out = order;
                return Ok(Some(found));
            }
        }
    }
}
