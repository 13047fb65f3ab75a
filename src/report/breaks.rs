//! Breaks of a pipe, told: text, JSON, poses of the pieces as CSV.

use std::fmt::Write as _;

use nalgebra::{Point3, Unit, Vector3};
use serde::Serialize;

use crate::assembly::{Breaks, ClampRoom, Outcome, PartStep, Tried};
use crate::scene::Scene;
use crate::space::Length;

use super::way::{
    MoveJson, NOT_LOOKED_AT, PoseJson, cut_words, moves_json, moves_text, pose_csv, pose_json, three,
};
use super::{CAUTIONS, json_text};

/// Name and version of the document of breaks.
pub(super) const BREAKS_FORMAT: &str = "baywright-breaks/1";

/// What is told.
#[derive(Clone, Debug)]
pub struct BreakReport<'a> {
    /// The scene.
    pub scene: &'a Scene,
    /// The pipe.
    pub body: &'a str,
    /// Least gap asked for.
    pub gap: Length,
    /// Seed.
    pub seed: u64,
    /// Bodies taken off first.
    pub without: &'a [String],
    /// What was found.
    pub breaks: &'a Breaks,
}

impl BreakReport<'_> {
    fn place(&self, tried: &Tried, at: usize) -> String {
        let place = &tried.places[at];
        format!("{:.0} mm along it, on straight {}", place.along_mm, place.straight + 1)
    }

    fn places(&self, tried: &Tried) -> String {
        let all: Vec<String> = (0..tried.places.len()).map(|at| self.place(tried, at)).collect();
        all.join(", and ")
    }

    fn outcome(&self, tried: &Tried) -> String {
        let joint = self.breaks.joint.kind.word();
        match &tried.outcome {
            Outcome::Won => "the pieces go in".to_owned(),
            Outcome::NoRoom { place } => {
                let clamp = &tried.clamps[*place];
                let nearest = clamp.nearest.as_deref().unwrap_or("?");
                format!(
                    "a {joint} there has {:.1} mm to `{nearest}`, {:.1} are to be kept",
                    clamp.room_mm,
                    self.gap.mm()
                )
            }
            Outcome::NoTool { .. } => format!("no tool that was tried turns the screw of a {joint} there"),
            Outcome::Making { why } => why.clone(),
            Outcome::NoWay { stuck } => {
                let told: Vec<String> = stuck
                    .iter()
                    .map(|(piece, by)| {
                        let by: Vec<String> = by.iter().take(3).map(|by| format!("`{by}`")).collect();
                        match by.is_empty() {
                            true => format!("`{piece}`"),
                            false => format!("`{piece}` (stopped by {})", by.join(", ")),
                        }
                    })
                    .collect();
                format!("no way was found for {}", told.join(" and "))
            }
            Outcome::NotTried => {
                "not tried: others were tried first, and one of them won or the time was up".to_owned()
            }
        }
    }
}

/// A direction of the vehicle in words: its greatest parts.
pub(super) fn direction_words(along: &Unit<Vector3<f64>>) -> String {
    let most = along.amax();
    let mut parts: Vec<(usize, f64)> = (0..3).map(|axis| (axis, along[axis])).collect();
    parts.retain(|(_, value)| value.abs() > 0.35 * most);
    parts.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let word = |(axis, value): (usize, f64)| match (axis, value > 0.0) {
        (0, true) => "rear",
        (0, false) => "front",
        (1, true) => "right",
        (1, false) => "left",
        (_, true) => "above",
        (_, false) => "below",
    };
    let words: Vec<&str> = parts.into_iter().map(word).collect();
    words.join(" and ")
}

fn clamp_words(clamp: &ClampRoom) -> String {
    let mut text = match &clamp.nearest {
        Some(nearest) => format!("{:.1} mm of room to `{nearest}`", clamp.room_mm),
        None => format!("at least {:.0} mm of room all round", clamp.room_mm),
    };
    if let Some(tool) = &clamp.tool {
        let _ =
            write!(text, "; its screw is turned with a {} from {}", tool.name, direction_words(&tool.along));
        match tool.swing {
            Some(swing) => {
                let _ = write!(
                    text,
                    ", whose lever swings {:.0} deg and which has {:.1} mm of room on the screw",
                    swing.deg(),
                    tool.room_mm
                );
            }
            None => {
                let _ = write!(text, ", which has {:.1} mm of room on the screw", tool.room_mm);
            }
        }
    }
    if let Some(hand) = &clamp.hand {
        if hand.upper_mm.is_finite() {
            let _ = write!(
                text,
                "; the widest way of a ball to the screw is {:.0} to {:.0} mm (a hand wants 95)",
                hand.lower_mm, hand.upper_mm
            );
        } else {
            let _ = write!(text, "; a ball of {:.0} mm gets to the screw (a hand wants 95)", hand.lower_mm);
        }
    }
    text
}

/// Steps with their moves, numbered.
pub(super) fn steps_text(steps: &[PartStep], indent: &str) -> String {
    let mut text = String::new();
    for (at, step) in steps.iter().enumerate() {
        let after = match step.after.is_empty() {
            true => String::new(),
            false => format!(", after {}", ticked(&step.after)),
        };
        let moves = step.way.moves().len();
        let moves = if moves == 1 { "1 move".to_owned() } else { format!("{moves} moves") };
        let _ = writeln!(text, "{indent}{}. `{}`{after}: {moves}", at + 1, step.part);
        text.push_str(&moves_text(&step.way, step.seat_mm.as_ref(), &format!("{indent}   ")));
        for remark in &step.remarks {
            let _ = writeln!(text, "{indent}   Note: {remark}.");
        }
    }
    text
}

/// Names in ticks, with commas.
pub(super) fn ticked(names: &[String]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}

/// Where the pipe breaks, with the room and the tool of each joint; `None` where no break was found.
pub(super) fn won_words(report: &BreakReport<'_>) -> Option<String> {
    let breaks = report.breaks;
    let won = breaks.won.as_ref()?;
    let tried = &breaks.tried[won.tried];
    let lengths: Vec<String> = tried.lengths_mm.iter().map(|mm| format!("{mm:.0}")).collect();
    let mut text = format!(
        "`{}` goes in as {} pieces of {} mm, broken {} and closed by a {} there; every instant of each way is proved to keep \
         its gaps.\n",
        report.body,
        won.pieces.len(),
        lengths.join(" and "),
        report.places(tried),
        breaks.joint.kind.word(),
    );
    for (at, (place, clamp)) in tried.at.iter().zip(&tried.clamps).enumerate() {
        let at = at + 1;
        let words = clamp_words(clamp);
        let _ = write!(text, "\n  break {at}: at ({:.0}, {:.0}, {:.0}); {words}.", place.x, place.y, place.z);
    }
    Some(text)
}

/// Breaks for a person.
pub fn breaks_text(report: &BreakReport<'_>) -> String {
    let breaks = report.breaks;
    let (body, joint) = (report.body, &breaks.joint);
    let mut text = String::new();
    // Writing to a String cannot fail.
    match &breaks.won {
        Some(won) => {
            let _ = writeln!(text, "{}", won_words(report).unwrap_or_default());
            let _ = writeln!(text, "\nOrder:");
            text.push_str(&steps_text(&won.found.steps, "  "));
        }
        None if breaks.tried.is_empty() && !breaks.cut_short => {
            let _ =
                writeln!(text, "`{body}` has no straight that can be broken for a {}.", joint.kind.word());
        }
        None => {
            let _ = writeln!(
                text,
                "No break of `{body}` was found with which it goes in{}. That does not prove that there is none.",
                cut_words(breaks.cut_short, breaks.cancelled)
            );
        }
    }
    if !breaks.tried.is_empty() {
        let _ = writeln!(text, "\nTried, by rank (pieces, room for the joint, length of the longest piece):");
    }
    for (at, tried) in breaks.tried.iter().enumerate() {
        let room = tried.clamps.iter().map(|clamp| clamp.room_mm).fold(f64::INFINITY, f64::min);
        let _ = writeln!(
            text,
            "  {:>2}. {} pieces, {}: room {room:.1} mm; {}",
            at + 1,
            tried.places.len() + 1,
            report.places(tried),
            report.outcome(tried)
        );
    }
    for short in &breaks.short {
        let _ = writeln!(
            text,
            "  Straight {} is {:.1} mm long; a {} in it needs {:.1}.",
            short.straight + 1,
            short.length_mm,
            joint.kind.word(),
            short.needed_mm
        );
    }
    let _ = writeln!(
        text,
        "\nSizes of the {} and of tools: {}. Each piece carries its half of it; the last millimetre, in which it draws the \
         ends together, is not looked at.",
        joint.kind.word(),
        joint.source
    );
    for name in report.without {
        let _ = writeln!(text, "Note: `{name}` is taken off first.");
    }
    let _ = writeln!(text, "Seed {}. {NOT_LOOKED_AT}\n", report.seed);
    for caution in CAUTIONS {
        let _ = writeln!(text, "{caution}");
    }
    text
}

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    title: &'a str,
    body: &'a str,
    answer: &'static str,
    gap_mm: f64,
    seed: u64,
    without: &'a [String],
    joint: &'static str,
    joint_source: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    won: Option<usize>,
    steps: Vec<StepJson<'a>>,
    tried: Vec<TriedJson>,
    too_short: Vec<ShortJson>,
    not_checked: [&'static str; 1],
    cautions: [&'static str; 4],
}

/// One part with its way, for programs.
#[derive(Serialize)]
pub(super) struct StepJson<'a> {
    pub part: &'a str,
    pub after: &'a [String],
    pub spare_mm: f64,
    pub middle_mm: [f64; 3],
    pub poses: Vec<PoseJson>,
    pub moves: Vec<MoveJson>,
    pub seat_mm: Option<[f64; 3]>,
    pub remarks: &'a [String],
}

#[derive(Serialize)]
struct TriedJson {
    places: Vec<PlaceJson>,
    lengths_mm: Vec<f64>,
    outcome: &'static str,
    why: String,
}

#[derive(Serialize)]
struct PlaceJson {
    straight: usize,
    along_mm: f64,
    at_mm: [f64; 3],
    room_mm: f64,
    nearest: Option<String>,
    tool: Option<ToolJson>,
    hand_mm: Option<[Option<f64>; 2]>,
}

#[derive(Serialize)]
struct ToolJson {
    name: &'static str,
    screw_mm: [f64; 3],
    along: [f64; 3],
    swing_deg: Option<f64>,
    room_mm: f64,
}

#[derive(Serialize)]
struct ShortJson {
    straight: usize,
    length_mm: f64,
    needed_mm: f64,
}

/// A part's way, for programs.
pub(super) fn step_json(step: &PartStep) -> StepJson<'_> {
    StepJson {
        part: &step.part,
        after: &step.after,
        spare_mm: step.way.spare.mm(),
        middle_mm: three(&step.way.middle.coords),
        poses: step.way.poses.iter().map(pose_json).collect(),
        moves: moves_json(&step.way),
        seat_mm: step.seat_mm.as_ref().map(three),
        remarks: &step.remarks,
    }
}

fn place_json(place: &crate::tube::SplitPlace, at: &Point3<f64>, clamp: &ClampRoom) -> PlaceJson {
    PlaceJson {
        straight: place.straight + 1,
        along_mm: place.along_mm,
        at_mm: three(&at.coords),
        room_mm: clamp.room_mm,
        nearest: clamp.nearest.clone(),
        tool: clamp.tool.as_ref().map(|tool| ToolJson {
            name: tool.name,
            screw_mm: three(&tool.screw.coords),
            along: three(&tool.along),
            swing_deg: tool.swing.map(|swing| swing.deg()),
            room_mm: tool.room_mm,
        }),
        hand_mm: clamp
            .hand
            .map(|hand| [Some(hand.lower_mm), hand.upper_mm.is_finite().then_some(hand.upper_mm)]),
    }
}

/// Breaks for programs.
pub fn breaks_json(report: &BreakReport<'_>) -> String {
    let breaks = report.breaks;
    let tried = breaks.tried.iter().map(|tried| TriedJson {
        places: (0..tried.places.len())
            .map(|at| place_json(&tried.places[at], &tried.at[at], &tried.clamps[at]))
            .collect(),
        lengths_mm: tried.lengths_mm.clone(),
        outcome: match tried.outcome {
            Outcome::Won => "won",
            Outcome::NoRoom { .. } => "no room",
            Outcome::NoTool { .. } => "no tool",
            Outcome::Making { .. } => "cannot be made",
            Outcome::NoWay { .. } => "none found",
            Outcome::NotTried => "not tried",
        },
        why: report.outcome(tried),
    });
    let short = breaks.short.iter().map(|short| ShortJson {
        straight: short.straight + 1,
        length_mm: short.length_mm,
        needed_mm: short.needed_mm,
    });
    let won = breaks.won.as_ref();
    json_text(&Document {
        format: BREAKS_FORMAT,
        title: &report.scene.title,
        body: report.body,
        answer: if won.is_some() { "break" } else { "none found" },
        gap_mm: report.gap.mm(),
        seed: report.seed,
        without: report.without,
        joint: breaks.joint.kind.word(),
        joint_source: breaks.joint.source,
        won: won.map(|won| won.tried),
        steps: won.map(|won| won.found.steps.iter().map(step_json).collect()).unwrap_or_default(),
        tried: tried.collect(),
        too_short: short.collect(),
        not_checked: [NOT_LOOKED_AT],
        cautions: CAUTIONS,
    })
}

/// Poses of the pieces in the order in which they go in, one a line with its piece first.
pub fn breaks_csv(report: &BreakReport<'_>) -> String {
    steps_csv(report.breaks.won.as_ref().map_or(&[], |won| &won.found.steps[..]))
}

/// Poses of parts in order, one a line.
pub(super) fn steps_csv(steps: &[PartStep]) -> String {
    let mut text = "part,x_mm,y_mm,z_mm,qx,qy,qz,qw\n".to_owned();
    for step in steps {
        for pose in &step.way.poses {
            let part = match step.part.contains([',', '"', '\n']) {
                true => format!("\"{}\"", step.part.replace('"', "\"\"")),
                false => step.part.clone(),
            };
            let _ = writeln!(text, "{part},{}", pose_csv(pose));
        }
    }
    text
}
