//! One finding a service point: its worst part decides, all parts are told.

use nalgebra::Point3;
use rayon::prelude::*;

use crate::access::AccessError;
use crate::check::pair::{Ready, pose_words};
use crate::check::{Finding, Findings, Place, Verdict};
use crate::scene::{Scene, ServiceKind, ServicePoint};
use crate::space::{Axis, Length};

use super::bay::{Bay, moved};
use super::{hand, lift, room};

/// One part of a service: a way in, an arm's length, room about a cap.
pub(super) struct Part {
    pub verdict: Verdict,
    pub required: Option<Length>,
    pub actual: Option<Length>,
    pub uncertainty: Option<Length>,
    pub place: Option<Point3<f64>>,
    pub said: String,
}

/// Tries every service point; each gives one finding, clear ones too.
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
    let told: Vec<Result<Finding, String>> = scene
        .service
        .par_iter()
        .map(|point| {
            parts(scene, ready, &bay, point)
                .map(|parts| finding(scene, &bay, point, parts))
                .map_err(|error| format!("service point `{}`: {error}", point.name))
        })
        .collect();
    for told in told {
        match told {
            Ok(finding) => findings.list.push(finding),
            Err(why) => findings.not_checked.push(why),
        }
    }
}

fn parts(
    scene: &Scene,
    ready: &[Ready<'_>],
    bay: &Bay,
    point: &ServicePoint,
) -> Result<Vec<Part>, AccessError> {
    let world =
        scene.body(&point.body).map(|body| moved(scene, body.carrier, &bay.values)).unwrap_or_default();
    let axis = Axis { through: world * point.at, along: world * point.along };
    let mut parts = Vec::new();
    parts.extend(lift::judge(scene, ready, bay, point)?);
    parts.extend(room::judge(ready, bay, point, &axis)?);
    // What is lifted out straight is not gripped through a corridor: straps and hoists differ.
    if !matches!(point.kind, ServiceKind::LiftOut { .. }) {
        parts.extend(hand::judge(scene, ready, bay, point, &axis.through)?);
    }
    Ok(parts)
}

fn finding(scene: &Scene, bay: &Bay, point: &ServicePoint, parts: Vec<Part>) -> Finding {
    // Among parts of one verdict, the one with the least margin to show.
    let margin = |part: &&Part| match (part.actual, part.required) {
        (Some(actual), Some(required)) => (actual - required).mm(),
        _ => f64::INFINITY,
    };
    let worst = parts.iter().min_by(|a, b| b.verdict.cmp(&a.verdict).then(margin(a).total_cmp(&margin(b))));
    let verdict = worst.map_or(Verdict::Clear, |part| part.verdict);
    let said: Vec<&str> =
        parts.iter().filter(|part| part.verdict == verdict).map(|p| p.said.as_str()).collect();
    let place = worst.and_then(|part| part.place).unwrap_or(point.at);
    let (code, rule) = match point.kind {
        ServiceKind::Touch => ("touch", "must be touched"),
        ServiceKind::Turn { .. } => ("turn", "must be gripped and turned"),
        ServiceKind::Pour { .. } => ("pour", "must be poured into"),
        ServiceKind::LiftOut { .. } => ("lift-out", "must come straight out"),
    };
    Finding {
        code,
        verdict,
        bodies: vec![point.body.clone()],
        required: worst.and_then(|part| part.required),
        actual: worst.and_then(|part| part.actual),
        at_rest: None,
        uncertainty: worst.and_then(|part| part.uncertainty),
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
    }
}
