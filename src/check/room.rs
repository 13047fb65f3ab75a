//! Room rules: the least gap of every pair over all movement, with its uncertainty.

use rayon::prelude::*;

use crate::clearance::IndexedShape;
use crate::scene::{Body, Scene};
use crate::space::Length;

use super::broad::{Classes, Question};
use super::cure;
use super::memory::Memory;
use super::narrow::narrowing;
use super::pair::{Examined, Pair, Ready};
use super::rules::Asked;
use super::{CheckOptions, Cure, Finding, Findings, PairGap, Poses, Verdict};

/// Looks at every pair that needs it; gives what there is to remember for the next check.
pub(super) fn check(
    scene: &Scene,
    ready: &[Ready<'_>],
    options: &CheckOptions,
    memory: &Memory,
    findings: &mut Findings,
) -> Memory {
    let classes = Classes::of(scene, ready, options);
    let questions = classes.near(ready);
    findings.pairs = classes.count();
    findings.pairs.clear = findings.pairs.by_rule + findings.pairs.by_default;
    let holding = memory.holding(scene);
    // Collected in the order asked, so the answer does not depend on which thread was first.
    let answers: Vec<Option<PairGap>> =
        questions
            .par_iter()
            .with_max_len(4)
            .map(|question| {
                let least = question.asked.least;
                holding.answer(scene, (question.first, question.second), least).unwrap_or_else(|| {
                    match pair_of(scene, ready, question).examine(least) {
                        Examined::Clear => None,
                        Examined::Near(gap) => Some(*gap),
                    }
                })
            })
            .collect();
    let remembered = Memory::of(
        scene,
        questions.iter().zip(&answers).map(|(question, answer)| {
            ((question.first, question.second), (question.asked.least, answer.clone()))
        }),
    );
    let mut found: Vec<(usize, Finding)> = Vec::new();
    for (at, (question, answer)) in questions.iter().zip(answers).enumerate() {
        let Some(gap) = answer else { continue };
        let verdict = gap.verdict(question.asked.least);
        if verdict != Verdict::Clear {
            findings.pairs.clear -= 1;
            if verdict == Verdict::Undecided {
                let (one, other) = (ready[question.first].body, ready[question.second].body);
                findings.readings.push(narrowing(scene, one, other, &gap));
            }
            found.push((at, finding(scene, ready, question, &gap, verdict)));
        }
    }
    found.sort_by(|(_, a), (_, b)| b.verdict.cmp(&a.verdict).then(margin(a).total_cmp(&margin(b))));
    let sought = &found[..found.len().min(options.cures)];
    let cures: Vec<Option<Cure>> = sought
        .par_iter()
        .with_max_len(1)
        .map(|(at, _)| {
            let question = &questions[*at];
            cure::seek(&pair_of(scene, ready, question), question.asked.least, ready)
        })
        .collect();
    let cures = cures.into_iter().chain(std::iter::repeat(None));
    for ((_, finding), cure) in found.into_iter().zip(cures) {
        findings.list.push(Finding { cure, ..finding });
    }
    remembered
}

fn margin(finding: &Finding) -> f64 {
    match (finding.actual, finding.required) {
        (Some(actual), Some(required)) => (actual - required).mm(),
        _ => f64::NEG_INFINITY,
    }
}

fn pair_of<'a>(scene: &'a Scene, ready: &'a [Ready<'a>], question: &Question<'_>) -> Pair<'a> {
    let (first, second) = (&ready[question.first], &ready[question.second]);
    Pair { scene, first, second, poses: Poses::Movement, within: None }
}

fn finding(
    scene: &Scene,
    ready: &[Ready<'_>],
    question: &Question<'_>,
    gap: &PairGap,
    verdict: Verdict,
) -> Finding {
    let (one, other) = (ready[question.first].body, ready[question.second].body);
    let at_rest = (gap.place.pose != "at rest").then(|| rest_gap(ready, question, one, other));
    let Asked { least, rule, because, .. } = question.asked;
    Finding {
        code: "room",
        verdict,
        bodies: vec![one.name.clone(), other.name.clone()],
        required: Some(*least),
        actual: Some(gap.upper),
        at_rest,
        uncertainty: Some(gap.uncertainty),
        place: Some(gap.place.clone()),
        rule: rule.clone(),
        because: because.clone(),
        cure: None,
        message: message(scene, one, other, gap, *least, verdict),
        shown: Vec::new(),
        figures: Vec::new(),
    }
}

fn rest_gap(ready: &[Ready<'_>], question: &Question<'_>, one: &Body, other: &Body) -> Length {
    let shape = |at: usize| -> &IndexedShape { &ready[at].shape };
    let first_from_second = one.world_from_body.inv_mul(&other.world_from_body);
    let gap = crate::clearance::gap(shape(question.first), shape(question.second), &first_from_second);
    gap.gap - ready[question.first].reach() - ready[question.second].reach()
}

fn message(
    scene: &Scene,
    one: &Body,
    other: &Body,
    gap: &PairGap,
    least: Length,
    verdict: Verdict,
) -> String {
    let (a, b, u, pose) = (&one.name, &other.name, gap.uncertainty, &gap.place.pose);
    match verdict {
        Verdict::Touching => {
            format!("`{a}` and `{b}` meet: they overlap by {} +/- {u} ({pose})", -gap.upper)
        }
        Verdict::Short if gap.upper.mm() <= 0.0 => {
            format!(
                "`{a}` and `{b}` have no room left and perhaps meet ({} +/- {u}), {least} asked for ({pose})",
                gap.upper
            )
        }
        // Short for sure; whether they also meet lies within U.
        Verdict::Short if (gap.lower - u).mm() <= 0.0 => {
            format!(
                "`{a}` is {} +/- {u} from `{b}` and perhaps meets it, {least} asked for ({pose})",
                gap.upper
            )
        }
        Verdict::Short => {
            format!("`{a}` is {} +/- {u} from `{b}`, {least} asked for ({pose})", gap.upper)
        }
        Verdict::Undecided => {
            let source = |body: &Body| body.placement.source.clone();
            let weaker = weaker_of(scene, one, other, gap);
            let how = match source(weaker) {
                Some(source) => format!("measure `{}` (from `{source}`) more exactly to decide", weaker.name),
                None => format!("place `{}` more exactly to decide", weaker.name),
            };
            // A hose may come nearer between the poses that were looked at.
            let gives_way = one.hose.is_some() || other.hose.is_some();
            let open = gives_way && (gap.upper - gap.lower).mm() > 0.1;
            let nearer = if open { format!(" and may come to {}", gap.lower) } else { String::new() };
            let how = if open && gap.upper - u >= least {
                "what may lie between the poses that were looked at leaves it open; give it more room"
                    .to_owned()
            } else {
                how
            };
            format!("`{a}` is {} +/- {u} from `{b}`{nearer}, {least} asked for: {how} ({pose})", gap.upper)
        }
        Verdict::Clear => format!("`{a}` is {} +/- {u} from `{b}` ({pose})", gap.upper),
    }
}

/// The body whose place contributes more to the gap's uncertainty.
fn weaker_of<'a>(scene: &Scene, one: &'a Body, other: &'a Body, gap: &PairGap) -> &'a Body {
    let pose = |body: &Body| {
        let carrier = &scene.carriers[body.carrier];
        let values = gap.place.values.iter().find(|(name, _)| *name == carrier.name);
        carrier.movement.world_from_rest(values.map_or(&[][..], |(_, values)| values))
    };
    let share = |body: &Body, point| {
        super::uncertainty::variance_along(&body.placement, &pose(body), point, &gap.normal)
    };
    if share(one, &gap.place.on_first) >= share(other, &gap.place.on_second) { one } else { other }
}
