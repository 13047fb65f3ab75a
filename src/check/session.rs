//! Which readings the next measuring session should take, the most useful first.

use std::collections::BTreeMap;

use nalgebra::{Matrix3, Point3, Vector3};

use crate::scene::{Scene, SurveyRead};
use crate::survey::BlankReading;

use super::Findings;

/// Distances of one taped mark from which on a misread one shows which it is (docs/surveys.md).
const ENOUGH: usize = 5;
/// Lengths that one person reads with a tape without sag or feel, mm: common practice, no source.
const HANDY_MM: std::ops::RangeInclusive<f64> = 100.0..=2500.0;

/// A reading to take.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SessionReading {
    /// What is measured, as a row of the survey's file says it.
    pub reading: BlankReading,
    /// Why it is worth a walk to the vehicle.
    pub why: String,
}

/// Readings for the next session of one survey, no reading twice: first those that narrow undecided gaps most, then further
/// distances to marks that rest on fewer than five, then the survey's own distances once more. When there is none of these,
/// the mark that lies worst on each body fitted to the survey. A mark that was touched is read by its three coordinates.
///
/// Distances to a mark are chosen one by one, each along what the others hold worst (largest u M^-1 u, M the sum of u u
/// over the directions u measured along). Cubic in the marks of a survey at worst.
///
/// # Source
/// Greedy D-optimal choice: one more observation multiplies det M by 1 + u M^-1 u (matrix determinant lemma).
pub fn session_readings(scene: &Scene, survey: &SurveyRead, findings: &Findings) -> Vec<SessionReading> {
    let mut out = Session { survey, list: Vec::new() };
    let mut narrow: Vec<_> =
        findings.readings.iter().flat_map(|gap| gap.narrow.iter().map(move |n| (gap, n))).collect();
    // The narrowest gap that a reading promises first; a stable order among equals.
    narrow.sort_by(|a, b| a.1.expected.mm().total_cmp(&b.1.expected.mm()));
    for (gap, one) in narrow {
        if one.survey.as_deref() == Some(survey.name.as_str()) {
            let [a, b] = &gap.bodies;
            out.take(
                &one.what,
                &format!("narrows `{a}` to `{b}`: U would be {} by one reading", one.expected),
            );
        }
    }
    out.strengthen();
    for reading in survey.readings.iter().filter(|reading| pair(survey, &reading.what).is_some()) {
        out.take(&reading.what, "read before; checks it");
    }
    if out.list.is_empty() {
        for fit in scene.bodies.iter().filter_map(|body| Some((body, body.fit.as_ref()?))) {
            let (body, fit) = fit;
            let worst = fit.residuals.iter().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
            if let Some((mark, off)) = worst.filter(|_| fit.survey == survey.name) {
                out.take(&format!("mark {mark}"), &format!("lies worst on `{}`, {off:+.1} mm", body.name));
            }
        }
    }
    out.list
}

struct Session<'a> {
    survey: &'a SurveyRead,
    list: Vec<SessionReading>,
}

impl<'a> Session<'a> {
    /// Adds what a reading's words mean; words that name no distance and no mark are left out.
    fn take(&mut self, what: &str, why: &str) {
        if let Some((mark, from)) = pair(self.survey, what) {
            self.add(mark, from, "", why);
        } else if let Some((mark, _)) = what.strip_prefix("mark ").and_then(|mark| place(self.survey, mark)) {
            for how in ["rearward", "right", "up"] {
                self.add(mark, "", how, why);
            }
        }
    }

    fn add(&mut self, mark: &str, from: &str, how: &str, why: &str) {
        let [mark, from, how] = [mark, from, how].map(str::to_owned);
        let reading = BlankReading { mark, from, how };
        let same = |other: &BlankReading| {
            other.how == reading.how
                && (other.mark == reading.mark && other.from == reading.from
                    || other.mark == reading.from && other.from == reading.mark)
        };
        if !self.list.iter().any(|known| same(&known.reading)) {
            self.list.push(SessionReading { reading, why: why.to_owned() });
        }
    }

    /// Further distances to marks that rest on too few to show a misread one.
    fn strengthen(&mut self) {
        let survey = self.survey;
        let mut rests: BTreeMap<&'a str, Vec<&'a str>> = BTreeMap::new();
        let mut order = Vec::new();
        for (mark, from) in survey.readings.iter().filter_map(|reading| pair(survey, &reading.what)) {
            let list = rests.entry(mark).or_default();
            if list.is_empty() {
                order.push(mark);
            }
            if !list.contains(&from) {
                list.push(from);
            }
        }
        for mark in order {
            let from = &rests[mark];
            let Some((_, at)) = place(survey, mark).filter(|_| from.len() < ENOUGH) else { continue };
            let along = |other: &str| place(survey, other).map(|(_, there)| (at - there).normalize());
            let mut held = Matrix3::identity() * 1e-3;
            for u in from.iter().filter_map(|other| along(other)) {
                held += u * u.transpose();
            }
            let why = format!(
                "{mark} rests on {}; from five on a misread one shows which it is",
                counted(from.len())
            );
            let mut used = from.clone();
            for _ in from.len()..ENOUGH {
                let Some(inverse) = held.try_inverse() else { break };
                let worth = |u: &Vector3<f64>| u.dot(&(inverse * u));
                let best = survey
                    .marks
                    .iter()
                    .filter(|(name, there, _)| {
                        let apart = HANDY_MM.contains(&(at - there).norm());
                        apart
                            && name != mark
                            && !used.contains(&name.as_str())
                            && !rests.contains_key(name.as_str())
                    })
                    .filter_map(|(name, ..)| Some((name.as_str(), along(name)?)))
                    // The first of equals, so that the order depends on the file only.
                    .fold(None, |best: Option<(&str, Vector3<f64>)>, (name, u)| match best {
                        Some((_, known)) if worth(&known) >= worth(&u) => best,
                        _ => Some((name, u)),
                    });
                let Some((name, u)) = best else { break };
                held += u * u.transpose();
                used.push(name);
                self.add(mark, name, "", &why);
            }
        }
    }
}

fn counted(distances: usize) -> String {
    if distances == 1 { "1 distance".to_owned() } else { format!("{distances} distances") }
}

/// A mark by its name, with its place.
fn place<'a>(survey: &'a SurveyRead, mark: &str) -> Option<(&'a str, Point3<f64>)> {
    survey.marks.iter().find(|(name, ..)| name == mark).map(|(name, at, _)| (name.as_str(), *at))
}

/// The two marks of a straight distance, `from-mark`: (mark, from).
fn pair<'a>(survey: &'a SurveyRead, what: &str) -> Option<(&'a str, &'a str)> {
    survey.marks.iter().find_map(|(from, ..)| {
        let (mark, _) = place(survey, what.strip_prefix(from.as_str())?.strip_prefix('-')?)?;
        Some((mark, from.as_str()))
    })
}
