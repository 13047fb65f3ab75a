//! Factory equipment that must stay: present, unmoved, unchanged.

use std::sync::Arc;

use crate::scene::{Body, Scene};
use crate::space::{Direction, Length};

use super::{Finding, Findings, Verdict};

/// Below this a body has not moved: the last bits of a pose that was written out and read back.
const SAME_MM: f64 = 1e-6;

pub(super) fn check(before: &Scene, after: &Scene, findings: &mut Findings) {
    for body in before.bodies.iter().filter(|body| body.kept) {
        let fault = match after.body(&body.name) {
            None => Some("is removed".to_owned()),
            Some(now) => changed(body, now),
        };
        if let Some(fault) = fault {
            let (verdict, cure) = match &body.may_move {
                Some(why) => (Verdict::Clear, format!("the scene allows it: {why}")),
                None => (
                    Verdict::Short,
                    "leave it as it was, or say why under `may_move` in the scene".to_owned(),
                ),
            };
            findings.list.push(Finding {
                code: "kept",
                verdict,
                bodies: vec![body.name.clone()],
                required: None,
                actual: None,
                at_rest: None,
                uncertainty: None,
                place: None,
                rule: format!("`{}` is kept", body.name),
                because: "factory equipment stays in place, untouched and serviceable".to_owned(),
                cure: None,
                message: format!("kept body `{}` {fault}; {cure}", body.name),
                figures: Vec::new(),
                shown: Vec::new(),
            });
        }
    }
}

pub(super) fn changed(before: &Body, now: &Body) -> Option<String> {
    if !now.kept {
        return Some("is no longer marked kept".to_owned());
    }
    if !Arc::ptr_eq(&before.shape, &now.shape) && before.shape != now.shape {
        return Some("has another shape".to_owned());
    }
    if before.carrier != now.carrier {
        return Some("rides on another carrier".to_owned());
    }
    let bounds = before.shape.bounds();
    let worst = bounds
        .corners()
        .iter()
        .map(|corner| now.world_from_body * corner - before.world_from_body * corner)
        .max_by(|a, b| a.norm().total_cmp(&b.norm()))?;
    (worst.norm() > SAME_MM).then(|| {
        format!(
            "is moved by up to {}, mostly {}",
            Length::from_mm(worst.norm()),
            Direction::nearest(&worst).word()
        )
    })
}
