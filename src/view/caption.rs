//! The words that go with a picture.

use crate::check::{Finding, Findings, Verdict};
use crate::scene::Scene;

use super::palette::VERDICTS;

/// The strip of words under a picture.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Caption {
    /// What the scene is of, and how many findings of each verdict there are.
    pub title: String,
    /// How it is seen.
    pub note: String,
    /// The findings shown, worst first.
    pub rows: Vec<Row>,
    /// What a body that is on its way does; the legend then names its colour.
    pub moving: Option<String>,
}

/// One finding in a strip or a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Row {
    /// Its number in the findings, from 1.
    pub number: usize,
    /// Its verdict.
    pub verdict: Verdict,
    /// The rest, in words.
    pub words: String,
}

impl Caption {
    /// Everything as one text, a line each: what a screen reader or a test reads.
    pub(super) fn lines(&self) -> Vec<String> {
        let rows = self.rows.iter().map(|r| format!("{} {}: {}", r.number, r.verdict.word(), r.words));
        let first = [self.title.clone(), self.note.clone()].into_iter();
        first.chain(self.moving.clone()).chain(rows).collect()
    }
}

/// The title of a scene: its own, or its file's name.
pub(super) fn title(scene: &Scene) -> String {
    if !scene.title.is_empty() {
        return scene.title.clone();
    }
    let stem = scene.path.file_stem().map(|s| s.to_string_lossy().into_owned());
    stem.unwrap_or_else(|| "scene without a title".to_owned())
}

/// `1 touching, 2 short, 1 undecided, 38 clear`; verdicts of which there are none left out.
pub(super) fn tally(findings: &Findings) -> String {
    let parts: Vec<String> = VERDICTS
        .iter()
        .filter_map(|verdict| {
            let count = findings.list.iter().filter(|f| f.verdict == *verdict).count();
            (count > 0).then(|| format!("{count} {}", verdict.word()))
        })
        .collect();
    if parts.is_empty() { "no findings".to_owned() } else { parts.join(", ") }
}

/// Which bodies and how much room, in words.
pub(super) fn finding_words(finding: &Finding) -> String {
    let who = finding.bodies.join(" to ");
    match amount_words(finding) {
        amount if amount.is_empty() => format!("{who}: {}", finding.message),
        amount => format!("{who}: {amount}"),
    }
}

/// `gap 8.4 mm, 12.0 mm required, measured to ±1.2 mm`; empty when the finding has no measure.
pub(super) fn amount_words(finding: &Finding) -> String {
    let Some(actual) = finding.actual else { return String::new() };
    let what = match finding.code {
        "room" | "kept" => "gap",
        _ => "opening",
    };
    let mut words =
        if actual.mm() < 0.0 { format!("overlap {}", actual.abs()) } else { format!("{what} {actual}") };
    if let Some(required) = finding.required {
        words += &format!(", {required} required");
    }
    if let Some(uncertainty) = finding.uncertainty.filter(|u| u.mm() > 0.0) {
        words += &format!(", measured to ±{uncertainty}");
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Length;

    fn finding(verdict: Verdict, actual: f64) -> Finding {
        Finding {
            code: "room",
            verdict,
            bodies: vec!["second turbo".into(), "cowl".into()],
            required: Some(Length::from_mm(12.0)),
            at_rest: None,
            actual: Some(Length::from_mm(actual)),
            uncertainty: Some(Length::from_mm(1.25)),
            place: None,
            rule: String::new(),
            because: String::new(),
            cure: None,
            message: String::new(),
            figures: Vec::new(),
            shown: Vec::new(),
        }
    }

    #[test]
    fn words_for_a_gap_and_an_overlap() {
        assert_eq!(
            finding_words(&finding(Verdict::Short, 8.42)),
            "second turbo to cowl: gap 8.4 mm, 12.0 mm required, measured to ±1.2 mm"
        );
        assert_eq!(
            finding_words(&finding(Verdict::Touching, -3.06)),
            "second turbo to cowl: overlap 3.1 mm, 12.0 mm required, measured to ±1.2 mm"
        );
    }

    #[test]
    fn the_tally_counts_each_verdict_worst_first() {
        let list = vec![
            finding(Verdict::Touching, -1.0),
            finding(Verdict::Short, 1.0),
            finding(Verdict::Short, 2.0),
            finding(Verdict::Clear, 40.0),
        ];
        assert_eq!(tally(&Findings { list, ..Findings::default() }), "1 touching, 2 short, 1 clear");
        assert_eq!(tally(&Findings::default()), "no findings");
    }
}
