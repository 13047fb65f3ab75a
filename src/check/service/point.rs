//! One finding a service point: its worst part decides, all parts are told.

use rayon::prelude::*;

use crate::access::AccessError;
use crate::check::pair::{Ready, pose_words};
use crate::check::{FigureUnit, Finding, Findings, Place, Verdict};
use crate::scene::{Scene, ServiceKind, ServicePoint};
use crate::space::{Axis, Length};

use super::bay::{Bay, moved};
use super::part::Part;
use super::slack::slack_mm;
use super::{caution, hand, lift, plug, pull, room, sight, wrench};

/// Tries every service point; each gives one finding, clear ones too, and its cautions.
pub(in crate::check) fn check(scene: &Scene, ready: &[Ready<'_>], findings: &mut Findings) {
    if scene.service.is_empty() {
        return;
    }
    let bay = match Bay::of(scene, ready) {
        Ok(bay) => bay,
        Err(error) => {
            findings.not_checked.push(format!("service points: {error}"));
            return;
        }
    };
    let told: Vec<Vec<Finding>> = scene
        .service
        .par_iter()
        // A bolt deep in the bay takes a hundred times as long as a cap on top: each may go to whoever is idle.
        .with_max_len(1)
        .map(|point| match judged(scene, ready, &bay, point) {
            Ok((parts, mut cautions)) => {
                cautions.insert(0, finding(scene, &bay, point, parts));
                cautions
            }
            Err(error) => vec![finding(scene, &bay, point, vec![refused(&error)])],
        })
        .collect();
    findings.list.extend(told.into_iter().flatten());
}

/// A question that has no answer is no answer that all is well.
fn refused(error: &AccessError) -> Part {
    let verdict = match error {
        AccessError::PointInside { .. } => Verdict::Short,
        _ => Verdict::Undecided,
    };
    Part::length("answer", verdict, None, None, error.to_string())
}

fn judged(
    scene: &Scene,
    ready: &[Ready<'_>],
    bay: &Bay,
    point: &ServicePoint,
) -> Result<(Vec<Part>, Vec<Finding>), AccessError> {
    let world =
        scene.body(&point.body).map(|body| moved(scene, body.carrier, &bay.values)).unwrap_or_default();
    let axis = Axis { through: world * point.at, along: world * point.along };
    let slack_mm = slack_mm(scene, ready, &point.body);
    let mut parts = Vec::new();
    parts.extend(lift::judge(scene, ready, bay, point)?);
    parts.extend(room::judge(bay, &slack_mm, point, &axis)?);
    parts.extend(pull::judge(bay, &slack_mm, point, &axis)?);
    parts.extend(plug::judge(scene, bay, &slack_mm, point, &axis)?);
    parts.extend(sight::judge(scene, bay, &slack_mm, point, &axis)?);
    // The hand goes to the point, or to the tool that is on it.
    let mut target = Some(axis.through);
    if let Some(turned) = wrench::judge(scene, bay, &slack_mm, point, &axis)? {
        target = turned.grip;
        parts.push(turned.part);
    }
    let mut cautions = Vec::new();
    // What is lifted out straight is not gripped through a corridor: straps and hoists differ. Eyes have no hands.
    let by_hand = !matches!(point.kind, ServiceKind::LiftOut { .. } | ServiceKind::See { .. });
    if let Some(target) = target.filter(|_| by_hand) {
        let (judged, hand, fingers) = hand::judge(scene, ready, bay, &slack_mm, point, &target)?;
        parts.extend(judged);
        // A tool is put on by hand too: from where it is held on to what it turns.
        let touched = [target, axis.through];
        let way = caution::Reached { hand: &hand, fingers: &fingers, touched: &touched };
        let hand_mm = point.opening.mm();
        cautions.extend(caution::heat_beside(scene, ready, bay, point, &way, hand_mm));
        cautions.extend(caution::elbow(scene, bay, point, &way)?);
    }
    cautions.extend(caution::under_filler(scene, ready, bay, point, &axis.through)?);
    Ok((parts, cautions))
}

/// The hood that stands shut over a point, when nothing of it swings.
fn shut_over<'a>(scene: &'a Scene, bay: &Bay, point: &ServicePoint) -> Option<&'a str> {
    let lid = |body: &crate::scene::Body| {
        let hinged = scene.carriers[body.carrier].freedom_words.iter().any(|word| word == "hinge");
        let is_hood = body.roles.iter().any(|role| role == "hood");
        let over =
            bay.bodies.number(&body.name).map(|number| bay.bodies.bounds_of(number)).is_some_and(|box_| {
                let within = |axis: usize| (box_.min[axis]..=box_.max[axis]).contains(&point.at[axis]);
                within(0) && within(1) && box_.min.z >= point.at.z
            });
        is_hood && !hinged && over && !point.without.contains(&body.name)
    };
    scene.bodies.iter().find(|body| lid(body)).map(|body| body.name.as_str())
}

fn finding(scene: &Scene, bay: &Bay, point: &ServicePoint, parts: Vec<Part>) -> Finding {
    // Among parts of one verdict, the one with the least margin to show: of lengths first, for they compare.
    let margin = |part: &&Part| match (part.figure.actual, part.figure.required, part.figure.unit) {
        // How much longer an arm is than it need be is told only where it is too short.
        _ if part.figure.what == "arm to spare" => f64::INFINITY,
        (Some(actual), Some(required), FigureUnit::Mm) if !part.figure.at_least => actual - required,
        _ => f64::INFINITY,
    };
    let worst =
        parts.iter().min_by(|a, b| b.verdict().cmp(&a.verdict()).then(margin(a).total_cmp(&margin(b))));
    let verdict = worst.map_or(Verdict::Clear, Part::verdict);
    let mut said: Vec<String> =
        parts.iter().filter(|part| part.verdict() == verdict).map(|part| part.said.clone()).collect();
    if verdict != Verdict::Clear
        && let Some(hood) = shut_over(scene, bay, point)
    {
        said.push(format!(
            "`{hood}` stands shut over it: let a carrier with a `hinge` carry it, or name it under `without`"
        ));
    }
    let place = worst.and_then(|part| part.place).unwrap_or(point.at);
    let (code, rule) = match point.kind {
        ServiceKind::See { .. } => ("see", "must be seen"),
        ServiceKind::Touch => ("touch", "must be touched"),
        ServiceKind::Turn { .. } => ("turn", "must be gripped and turned"),
        ServiceKind::Pull { .. } => ("pull", "must be pulled straight out"),
        ServiceKind::Pour { .. } => ("pour", "must be poured into"),
        ServiceKind::Plug { .. } => ("plug", "must be unplugged"),
        ServiceKind::Wrench(_) => ("wrench", "must be turned with a tool"),
        ServiceKind::Clamp(_) => ("clamp", "must be undone and done up"),
        ServiceKind::LiftOut { .. } => ("lift-out", "must come straight out"),
    };
    let length = |pick: fn(&crate::check::Figure) -> Option<f64>| {
        worst
            .filter(|part| part.figure.unit == FigureUnit::Mm)
            .and_then(|part| pick(&part.figure))
            .map(Length::from_mm)
    };
    Finding {
        code,
        verdict,
        bodies: vec![point.body.clone()],
        required: length(|figure| figure.required),
        actual: length(|figure| figure.actual.filter(|_| !figure.at_least)),
        at_rest: None,
        uncertainty: length(|figure| figure.uncertainty.filter(|_| !figure.at_least)),
        place: Some(Place {
            on_first: point.at,
            on_second: place,
            pose: pose_words(scene, &bay.values),
            values: bay.values.clone(),
        }),
        rule: format!("service point `{}`: {rule}", point.name),
        because: point.opening_source.clone(),
        cure: None,
        message: format!("service point `{}`: {}", point.name, said.join("; ")),
        figures: parts.iter().map(|part| part.figure).collect(),
        shown: parts.into_iter().filter_map(|part| part.shown).collect(),
    }
}
