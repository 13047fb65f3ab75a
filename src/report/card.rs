//! The install card: a step a part, for the wall of the shop.

use std::fmt::Write as _;

use serde::Serialize;

use crate::assembly::{PartStep, fastening_minutes};
use crate::scene::{Body, Scene};

use super::CAUTIONS;
use super::order::OrderReport;

/// One step of the card.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct CardStep {
    /// The part.
    pub part: String,
    /// Its moves, in words.
    pub moves: Vec<String>,
    /// What it is fastened to when it goes in, and by what.
    pub fasten: Vec<FastenStep>,
    /// Minutes of all of it, by the scene's table.
    pub minutes: f64,
    /// What can hurt at this step.
    pub cautions: Vec<String>,
}

/// One thing to be fastened.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct FastenStep {
    /// To what.
    pub to: String,
    /// By what, as the scene says.
    pub by: String,
    /// Minutes; 0 where the table knows none of it.
    pub minutes: f64,
}

/// What the roles of a part warn of.
const WARNINGS: [(&str, &str); 7] = [
    ("hot", "gets hot enough to burn and to set things alight: work cold, keep wraps off oil"),
    ("fuel", "carries fuel: no spark, catch what runs out, check for leaks before the battery goes back on"),
    ("coolant", "holds coolant: open only cold, fill and bleed, check for leaks"),
    ("brake", "belongs to the brakes: licensed practice decides"),
    ("steering", "belongs to the steering: licensed practice decides"),
    ("electrical", "is live: battery off first"),
    ("belt", "moves when the engine turns: battery off first"),
];

fn fastens(scene: &Scene, step: &PartStep) -> Vec<FastenStep> {
    // What is not there yet is fastened when it comes.
    let later = |name: &str| {
        let candidate =
            scene.body(name).is_some_and(|body| body.candidate) || scene.kit.iter().any(|one| one == name);
        candidate && !step.after.iter().any(|after| after == name)
    };
    let mut out = Vec::new();
    for joined in &scene.joined {
        let mate = match (joined.one == step.part, joined.other == step.part) {
            (true, _) => &joined.other,
            (_, true) => &joined.one,
            _ => continue,
        };
        if !later(mate) {
            let minutes = fastening_minutes(&joined.by, &scene.step_times).minutes;
            out.push(FastenStep { to: mate.clone(), by: joined.by.clone(), minutes });
        }
    }
    out
}

/// The steps of the card.
pub(super) fn card_steps(scene: &Scene, steps: &[PartStep]) -> Vec<CardStep> {
    let of =
        |name: &str| scene.step_times.iter().find(|step| step.name == name).map_or(0.0, |step| step.minutes);
    let mut out = Vec::with_capacity(steps.len());
    for step in steps {
        let mut moves: Vec<String> = step.way.moves().iter().map(|one| one.words()).collect();
        let minutes = of("part") + of("move") * moves.len() as f64;
        if let Some(seat) = step.seat_mm {
            moves.push(format!("on to its seat, {:.1} mm", seat.norm()));
        }
        let fasten = fastens(scene, step);
        let minutes = minutes + fasten.iter().map(|fasten| fasten.minutes).sum::<f64>();
        let roles = |body: &Body| body.roles.clone();
        let roles = scene.body(&step.part).map(roles).unwrap_or_default();
        let warn = |(role, text): &(&str, &str)| {
            roles.iter().any(|own| own == role).then(|| format!("`{}` {text}", step.part))
        };
        let cautions = WARNINGS.iter().filter_map(warn).collect();
        out.push(CardStep { part: step.part.clone(), moves, fasten, minutes, cautions });
    }
    out
}

/// Pictures beside a card.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum CardPictures {
    /// One a step: names of files in the card's own folder.
    Drawn(Vec<String>),
    /// There are none, and this is why.
    Without(String),
}

/// A picture's line: its name in brackets of its own where it holds more than letters, figures, dots and dashes.
fn picture_line(step: usize, part: &str, file: &str) -> String {
    let plain = file.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_'));
    let file = if plain { file.to_owned() } else { format!("<{file}>") };
    format!("![Step {step}: how {part} goes in, move by move]({file})")
}

/// The install card as Markdown.
pub fn card_markdown(report: &OrderReport<'_>, pictures: &CardPictures) -> String {
    let scene = report.scene;
    let mut text = String::new();
    // Writing to a String cannot fail.
    let _ = writeln!(text, "# Install card: {}\n", scene.title);
    let steps = card_steps(scene, &report.found.steps);
    let total: f64 = steps.iter().map(|step| step.minutes).sum();
    let count = if steps.len() == 1 { "1 step".to_owned() } else { format!("{} steps", steps.len()) };
    let _ = writeln!(
        text,
        "{count}, about {total:.0} minutes by the scene's step times. Every way in is proved to keep {:.1} mm, or what the \
         notes say. Right, left, forward and rearward are the vehicle's.\n",
        report.gap.mm()
    );
    if !report.found.stuck.is_empty() {
        let left: Vec<String> = report.found.stuck.iter().map(|stuck| format!("`{}`", stuck.part)).collect();
        let _ = writeln!(text, "**Not complete: no way in was found for {}.**\n", left.join(", "));
    }
    for words in report.broken_words() {
        let _ = writeln!(text, "{words}\n");
    }
    if let CardPictures::Without(why) = pictures {
        let _ = writeln!(text, "Without pictures: {why}.\n");
    }
    let _ = writeln!(text, "Before: vehicle supported, engine cold, battery disconnected.\n");
    for name in report.without {
        let _ = writeln!(text, "Before: `{name}` taken off.\n");
    }
    for (at, (step, found)) in steps.iter().zip(&report.found.steps).enumerate() {
        let _ = writeln!(text, "## {}. {} ({:.1} min)\n", at + 1, step.part, step.minutes);
        for caution in &step.cautions {
            let _ = writeln!(text, "**Caution:** {caution}.\n");
        }
        if let CardPictures::Drawn(files) = pictures
            && let Some(file) = files.get(at)
        {
            let _ = writeln!(text, "{}\n", picture_line(at + 1, &step.part, file));
        }
        for (number, words) in step.moves.iter().enumerate() {
            let _ = writeln!(text, "{}. {words}", number + 1);
        }
        text.push('\n');
        for fasten in &step.fasten {
            let minutes = match fasten.minutes > 0.0 {
                true => format!("{:.1} min", fasten.minutes),
                false => "no time in the table".to_owned(),
            };
            let _ = writeln!(text, "- fasten to `{}`: {} ({minutes})", fasten.to, fasten.by);
        }
        if step.fasten.is_empty() {
            let _ = writeln!(text, "- nothing is said of what fastens it");
        }
        for remark in &found.remarks {
            let _ = writeln!(text, "- note: {remark}");
        }
        text.push('\n');
    }
    let mut sources: Vec<&str> = scene.step_times.iter().map(|step| step.source.as_str()).collect();
    sources.sort_unstable();
    sources.dedup();
    let _ = writeln!(text, "Times: the scene's `step_times` and the library's ({}).\n", sources.join("; "));
    for caution in CAUTIONS {
        let _ = writeln!(text, "{caution}");
    }
    text
}
