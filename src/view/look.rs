//! What each body looks like: its colour, and whether it is solid, faded or hidden.

use crate::check::{Finding, Findings, Verdict};
use crate::scene::Scene;

use super::palette::{self, Shade, body_shade, verdict_shade};

/// How much of a body is seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shading {
    /// All of it.
    Solid,
    /// Most of it; a mark inside shows through.
    Sheer,
    /// A breath of it, to see what is behind.
    Faded,
    /// None of it.
    Hidden,
}

/// What a body looks like, and why.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    /// Surface colour.
    pub shade: Shade,
    /// How much of it is seen.
    pub shading: Shading,
    /// What it is: `candidate`, `kept`, `other` or `on its way`.
    pub what: &'static str,
    /// The verdict that it is shown for; `None` when it is only there.
    pub verdict: Option<Verdict>,
}

impl Look {
    /// Each body's look, in the scene's order.
    ///
    /// A candidate keeps its own colour, so that it is found at once. Any other body takes the
    /// colour, softened, of the worst finding about it, `clear` ones left out; with a focus, of
    /// that finding alone. All the rest is grey.
    pub fn of_all(scene: &Scene, findings: &Findings, focus: Option<&Finding>) -> Vec<Look> {
        scene
            .bodies
            .iter()
            .map(|body| {
                let (shade, what) = body_shade(body);
                let concerns = |f: &&Finding| f.bodies.contains(&body.name);
                let verdict = match focus {
                    Some(finding) => concerns(&finding).then_some(finding.verdict),
                    None => {
                        let verdicts = findings.list.iter().filter(concerns).map(|f| f.verdict);
                        verdicts.max().filter(|v| *v > Verdict::Clear)
                    }
                };
                let shade = match verdict {
                    Some(verdict) if !body.candidate => {
                        // A wall in full colour would outshine the mark on it.
                        let second = focus.is_some_and(|f| f.bodies.first() != Some(&body.name));
                        let softened = if second || focus.is_none() { 0.42 } else { 0.12 };
                        verdict_shade(verdict).mixed(palette::PAPER, softened)
                    }
                    // Around a finding flown to, the rest steps back.
                    None if focus.is_some() => shade.mixed(palette::BACKGROUND, 0.45),
                    _ => shade,
                };
                Look { shade, shading: Shading::Solid, what, verdict }
            })
            .collect()
    }
}
