//! Kept equipment and service points before and after the job, side by side.

use std::collections::BTreeSet;

use crate::scene::{Joined, Scene};

use super::{Figure, Finding, Findings, Verdict};

/// What became of something between two scenes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Change {
    /// As good as before.
    AsBefore,
    /// It was not there before.
    New,
    /// Better than before.
    Better,
    /// Worse than before, and still what is asked for or no further from it by verdict.
    Less,
    /// Its verdict is worse.
    Worse,
    /// It is not there any more.
    Gone,
}

impl Change {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Change::AsBefore => "as before",
            Change::New => "new",
            Change::Better => "better",
            Change::Less => "less",
            Change::Worse => "worse",
            Change::Gone => "gone",
        }
    }
}

/// One figure of a service point before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureChange {
    /// What the figure is: `corridor`, `swing`.
    pub what: &'static str,
    /// Before; `None` when it was not asked then.
    pub before: Option<Figure>,
    /// After; `None` when it is not asked any more.
    pub after: Option<Figure>,
    /// After less before, in the figure's unit, where both are known.
    pub delta: Option<f64>,
}

/// One service point before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct PointChange {
    /// Its name.
    pub point: String,
    /// The code of its kind: `touch`, `wrench`.
    pub code: &'static str,
    /// The body that it serves.
    pub body: String,
    /// Verdict before.
    pub before: Option<Verdict>,
    /// Verdict after.
    pub after: Option<Verdict>,
    /// In one word.
    pub change: Change,
    /// Its figures.
    pub figures: Vec<FigureChange>,
}

/// One kept body before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptChange {
    /// The body.
    pub body: String,
    /// What was done to it, when it is not present and unmoved.
    pub fault: Option<String>,
    /// Why that is allowed, when the scene says so.
    pub allowed: Option<String>,
    /// What it was fastened to and is not any more.
    pub lost_joints: Vec<String>,
    /// The worst of what became of its service points; `None` when it has none.
    pub service: Option<Change>,
}

impl KeptChange {
    /// Whether it stands as it stood, fastened as it was, as serviceable as it was.
    pub fn is_intact(&self) -> bool {
        let served = self.service.is_none_or(|change| !matches!(change, Change::Worse | Change::Gone));
        self.fault.is_none() && self.lost_joints.is_empty() && served
    }
}

/// Kept bodies and service points before and after.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct KeptTable {
    /// Every kept body, in the scene's order.
    pub bodies: Vec<KeptChange>,
    /// Every service point: those before in the scene's order, then new ones.
    pub points: Vec<PointChange>,
}

/// Figures that differ by less are alike: mm, degrees, hundredths.
const ALIKE: f64 = 1.0;

/// Lays two scenes and their service findings side by side.
pub fn kept_table(before: &Scene, after: &Scene, was: &Findings, now: &Findings) -> KeptTable {
    let names: Vec<&String> = before
        .service
        .iter()
        .chain(after.service.iter().filter(|point| before.service.iter().all(|old| old.name != point.name)))
        .map(|point| &point.name)
        .collect();
    let points: Vec<PointChange> = names
        .into_iter()
        .filter_map(|name| {
            let body = |scene: &Scene| {
                scene.service.iter().find(|point| point.name == *name).map(|point| point.body.clone())
            };
            let body = body(after).or_else(|| body(before))?;
            point_change(name, body, told(was, name), told(now, name))
        })
        .collect();
    let bodies = before
        .bodies
        .iter()
        .filter(|body| body.kept)
        .map(|body| {
            let fault = match after.body(&body.name) {
                None => Some("is removed".to_owned()),
                Some(now) => super::kept::changed(body, now),
            };
            KeptChange {
                body: body.name.clone(),
                allowed: fault.as_ref().and(body.may_move.clone()),
                fault,
                lost_joints: lost_joints(&body.name, before, after),
                service: points
                    .iter()
                    .filter(|point| point.body == body.name)
                    .map(|point| point.change)
                    .max(),
            }
        })
        .collect();
    KeptTable { bodies, points }
}

/// The finding of a service point, cautions apart.
fn told<'a>(findings: &'a Findings, name: &str) -> Option<&'a Finding> {
    let rule = format!("service point `{name}`:");
    findings.list.iter().find(|finding| finding.code != "caution" && finding.rule.starts_with(&rule))
}

fn point_change(
    name: &str,
    body: String,
    before: Option<&Finding>,
    after: Option<&Finding>,
) -> Option<PointChange> {
    let code = after.or(before)?.code;
    let mut whats: Vec<&'static str> = Vec::new();
    for figure in [before, after].into_iter().flatten().flat_map(|finding| &finding.figures) {
        // An arm's reach is a verdict without a figure.
        if !whats.contains(&figure.what) && (figure.actual.is_some() || figure.required.is_some()) {
            whats.push(figure.what);
        }
    }
    let figure = |finding: Option<&Finding>, what: &str| {
        finding.and_then(|finding| finding.figures.iter().find(|figure| figure.what == what)).copied()
    };
    let figures: Vec<FigureChange> = whats
        .into_iter()
        .map(|what| {
            let (old, new) = (figure(before, what), figure(after, what));
            let delta = new.zip(old).and_then(|(new, old)| new.delta(&old));
            FigureChange { what, before: old, after: new, delta }
        })
        .collect();
    let less = figures.iter().filter_map(|figure| figure.delta).fold(0.0, f64::min);
    let more = figures.iter().filter_map(|figure| figure.delta).fold(0.0, f64::max);
    let change = match (before.map(|finding| finding.verdict), after.map(|finding| finding.verdict)) {
        (None, _) => Change::New,
        (_, None) => Change::Gone,
        (Some(old), Some(new)) if new > old => Change::Worse,
        (Some(old), Some(new)) if new < old => Change::Better,
        _ if less < -ALIKE => Change::Less,
        _ if more > ALIKE => Change::Better,
        _ => Change::AsBefore,
    };
    let verdict = |finding: Option<&Finding>| finding.map(|finding| finding.verdict);
    let (before, after) = (verdict(before), verdict(after));
    Some(PointChange { point: name.to_owned(), code, body, before, after, change, figures })
}

/// What a body was fastened to and is not any more.
fn lost_joints(body: &str, before: &Scene, after: &Scene) -> Vec<String> {
    fn others<'a>(body: &str, joined: &'a [Joined]) -> BTreeSet<&'a str> {
        joined
            .iter()
            .filter_map(|pair| match (pair.one.as_str(), pair.other.as_str()) {
                (one, other) if one == body => Some(other),
                (one, other) if other == body => Some(one),
                _ => None,
            })
            .collect()
    }
    let now = others(body, &after.joined);
    others(body, &before.joined).difference(&now).map(|name| (*name).to_owned()).collect()
}
