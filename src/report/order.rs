//! An order of assembly, and what must come out, told: text, JSON, poses as CSV.

use std::fmt::Write as _;

use serde::Serialize;

use crate::assembly::{Breaks, ComeOut, OrderFound, StuckPart};
use crate::scene::Scene;
use crate::space::Length;

use super::breaks::{BreakReport, StepJson, step_json, steps_csv, steps_text, ticked, won_words};
use super::card::{CardStep, card_steps};
use super::way::{NOT_LOOKED_AT, cut_words};
use super::{CAUTIONS, json_text};

/// What is told.
#[derive(Clone, Debug)]
pub struct OrderReport<'a> {
    /// The scene.
    pub scene: &'a Scene,
    /// Least gap asked for.
    pub gap: Length,
    /// Seed.
    pub seed: u64,
    /// Bodies taken off first.
    pub without: &'a [String],
    /// What was found.
    pub found: &'a OrderFound,
    /// Pipes that did not go in whole, and what was tried of each.
    pub broken: &'a [(String, Breaks)],
}

impl OrderReport<'_> {
    /// A line on each pipe that was broken, or could not be.
    pub(super) fn broken_words(&self) -> Vec<String> {
        let words = |(name, breaks): &(String, Breaks)| {
            let without: Vec<String> = Vec::new();
            let report = BreakReport {
                scene: self.scene,
                body: name,
                gap: self.gap,
                seed: self.seed,
                without: &without,
                breaks,
            };
            won_words(&report).unwrap_or_else(|| {
                format!("`{name}`: no break was found with which it goes in; `baywright way-in` with --breaks tells what was tried")
            })
        };
        self.broken.iter().map(words).collect()
    }
}

fn stuck_words(stuck: &StuckPart) -> String {
    let mut text = format!("`{}`: ", stuck.part);
    if let Some(proof) = &stuck.proof {
        let _ = write!(text, "proved not to go in: {proof}");
    } else if !stuck.looked_into {
        text.push_str("no way was found, and the search ended before it was looked into why");
    } else if !stuck.alone {
        text.push_str("no way was found even where no other part of the kit is mounted");
    } else if stuck.kept_by.is_empty() {
        text.push_str(
            "goes in alone, and with each other part by itself, but no way was found with all of them",
        );
    } else {
        let _ =
            write!(text, "goes in alone, but no way was found once {} is mounted", ticked(&stuck.kept_by));
    }
    if stuck.proof.is_none() && !stuck.stopped_by.is_empty() {
        let _ = write!(text, "; stopped most by {}", ticked(&stuck.stopped_by));
    }
    text
}

/// An order for a person.
pub fn order_text(report: &OrderReport<'_>) -> String {
    let found = report.found;
    let mut text = String::new();
    // Writing to a String cannot fail.
    let count = found.steps.len();
    match found.stuck.is_empty() {
        true => {
            let _ = writeln!(
                text,
                "An order was found in which all {count} parts go in, every instant of each way proved to keep its gaps.\n"
            );
        }
        false => {
            let _ = writeln!(
                text,
                "No order was found for all parts{}: {} of {} are left.\n",
                cut_words(found.cut_short, found.cancelled),
                found.stuck.len(),
                count + found.stuck.len()
            );
        }
    }
    for words in report.broken_words() {
        let _ = writeln!(text, "{words}\n");
    }
    for group in &found.interlocks {
        let _ = writeln!(
            text,
            "Interlock: {} block each other; once one is mounted no way was found for the next.",
            ticked(group)
        );
    }
    for stuck in &found.stuck {
        let _ = writeln!(text, "  {}", stuck_words(stuck));
    }
    if !found.stuck.is_empty() && found.stuck.iter().any(|stuck| stuck.proof.is_none()) {
        let _ = writeln!(
            text,
            "That no way was found does not prove that there is none: try more --time, --from another side as well, or for pipes \
             --breaks.\n"
        );
    }
    if !found.stuck.is_empty() && count > 0 {
        let _ = writeln!(text, "The others, once {} are mounted:", ticked(&names(&found.stuck)));
    }
    text.push_str(&steps_text(&found.steps, "  "));
    for name in report.without {
        let _ = writeln!(text, "Note: `{name}` is taken off first.");
    }
    let _ = writeln!(text, "\nSeed {}; parts tried {} times. {NOT_LOOKED_AT}\n", report.seed, found.tries);
    for caution in CAUTIONS {
        let _ = writeln!(text, "{caution}");
    }
    text
}

fn names(stuck: &[StuckPart]) -> Vec<String> {
    stuck.iter().map(|stuck| stuck.part.clone()).collect()
}

/// Name and version of the document of an order.
pub(super) const ORDER_FORMAT: &str = "baywright-order/1";

/// Where a pipe breaks, so that its pieces can be made again from the scene.
#[derive(Serialize)]
struct BrokenAtJson<'a> {
    body: &'a str,
    joint: &'static str,
    places: Vec<BrokenPlaceJson>,
}

#[derive(Serialize)]
struct BrokenPlaceJson {
    straight: usize,
    along_mm: f64,
}

fn broken_at(broken: &[(String, Breaks)]) -> Vec<BrokenAtJson<'_>> {
    let won = broken.iter().filter_map(|(body, breaks)| Some((body, breaks, breaks.won.as_ref()?)));
    won.map(|(body, breaks, won)| BrokenAtJson {
        body,
        joint: breaks.joint.kind.word(),
        places: breaks.tried[won.tried]
            .places
            .iter()
            .map(|place| BrokenPlaceJson { straight: place.straight + 1, along_mm: place.along_mm })
            .collect(),
    })
    .collect()
}

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    title: &'a str,
    answer: &'static str,
    gap_mm: f64,
    seed: u64,
    without: &'a [String],
    steps: Vec<StepJson<'a>>,
    card: Vec<CardStep>,
    minutes: f64,
    stuck: Vec<StuckJson<'a>>,
    interlocks: &'a [Vec<String>],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    broken: Vec<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    broken_at: Vec<BrokenAtJson<'a>>,
    cut_short: bool,
    ended_early: bool,
    not_checked: [&'static str; 1],
    cautions: [&'static str; 4],
}

#[derive(Serialize)]
struct StuckJson<'a> {
    part: &'a str,
    goes_in_alone: bool,
    kept_by: &'a [String],
    stopped_by: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    proof: Option<&'a str>,
    why: String,
}

/// An order for programs.
pub fn order_json(report: &OrderReport<'_>) -> String {
    let found = report.found;
    let card = card_steps(report.scene, &found.steps);
    let stuck = found.stuck.iter().map(|stuck| StuckJson {
        part: &stuck.part,
        goes_in_alone: stuck.alone,
        kept_by: &stuck.kept_by,
        stopped_by: &stuck.stopped_by,
        proof: stuck.proof.as_deref(),
        why: stuck_words(stuck),
    });
    json_text(&Document {
        format: ORDER_FORMAT,
        title: &report.scene.title,
        answer: match (found.stuck.is_empty(), found.interlocks.is_empty()) {
            (true, _) => "order",
            (false, false) => "interlock",
            (false, true) => "none found",
        },
        gap_mm: report.gap.mm(),
        seed: report.seed,
        without: report.without,
        steps: found.steps.iter().map(step_json).collect(),
        minutes: card.iter().map(|step| step.minutes).sum(),
        card,
        stuck: stuck.collect(),
        interlocks: &found.interlocks,
        broken: report.broken_words(),
        broken_at: broken_at(report.broken),
        cut_short: found.cut_short,
        ended_early: found.cancelled,
        not_checked: [NOT_LOOKED_AT],
        cautions: CAUTIONS,
    })
}

/// Poses of all parts in order, one a line with its part first.
pub fn order_csv(report: &OrderReport<'_>) -> String {
    steps_csv(&report.found.steps)
}

/// What must come out, for a person; `goal` is what for.
pub fn come_out_text(goal: &str, parts: &[String], out: &ComeOut, seed: u64) -> String {
    let mut text = String::new();
    if out.cancelled {
        let _ = writeln!(text, "The search was ended early: what follows is what was found until then.");
    }
    if !out.reached {
        let all = parts.iter().all(|part| out.out.contains(part) || goal.contains(&format!("`{part}`")));
        let _ = match (all, out.out.is_empty()) {
            (true, _) => writeln!(text, "{goal}: not reached even with {} out.", ticked(&out.out)),
            (false, true) => writeln!(text, "{goal}: not reached within the time, with nothing out."),
            (false, false) => {
                writeln!(
                    text,
                    "{goal}: not reached within the time; the last try had {} out.",
                    ticked(&out.out)
                )
            }
        };
        if !out.by.is_empty() {
            let by: Vec<String> = out.by.iter().take(5).cloned().collect();
            let _ = writeln!(text, "In the way then: {}.", ticked(&by));
        }
        let _ =
            writeln!(text, "That does not prove that it cannot be: try more --time, or --from another side.");
    } else if out.out.is_empty() {
        let _ = writeln!(text, "{goal}: nothing must come out.");
    } else {
        let count = out.out.len();
        let noun = if count == 1 { "part" } else { "parts" };
        let _ = writeln!(text, "{goal}: {count} {noun} must come out, in this order: {}.", ticked(&out.out));
        let _ = match out.each_needed {
            true => writeln!(
                text,
                "None of them can stay in by itself, as far as was found; that no other set does with fewer is not proved."
            ),
            false => writeln!(
                text,
                "Some are out only to let others out, or the time was up before each was tried back in: one of them may do \
                 without."
            ),
        };
        if let Some(ways) = &out.ways {
            for stuck in &ways.stuck {
                let _ = writeln!(text, "  No way out was found: {}", stuck_words(stuck));
            }
            let _ = writeln!(text, "\nBack in again (the same ways, the other way round, lead out):");
            text.push_str(&steps_text(&ways.steps, "  "));
        }
    }
    let _ = writeln!(text, "\nSeed {seed}. {NOT_LOOKED_AT}\n");
    for caution in CAUTIONS {
        let _ = writeln!(text, "{caution}");
    }
    text
}

#[derive(Serialize)]
struct ComeOutJson<'a> {
    format: &'static str,
    goal: &'a str,
    reached: bool,
    each_needed: bool,
    ended_early: bool,
    count: usize,
    out: &'a [String],
    by: &'a [String],
    steps: Vec<StepJson<'a>>,
    seed: u64,
    not_checked: [&'static str; 1],
    cautions: [&'static str; 4],
}

/// What must come out, for programs.
pub fn come_out_json(goal: &str, out: &ComeOut, seed: u64) -> String {
    json_text(&ComeOutJson {
        format: "baywright-come-out/1",
        goal,
        reached: out.reached,
        each_needed: out.each_needed,
        ended_early: out.cancelled,
        count: out.out.len(),
        out: &out.out,
        by: &out.by,
        steps: out.ways.as_ref().map(|ways| ways.steps.iter().map(step_json).collect()).unwrap_or_default(),
        seed,
        not_checked: [NOT_LOOKED_AT],
        cautions: CAUTIONS,
    })
}
