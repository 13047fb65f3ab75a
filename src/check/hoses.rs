//! Hoses: how they give way where their ends move, whether they are long enough, how tightly they bend, how they fall.

use crate::hose::{Hose, HoseError, Port, Relaxed};
use crate::scene::{Body, HoseRun, Scene};
use crate::space::{Length, Pose};

use super::pair::{Ready, pose_words};
use super::{Finding, Findings, Place, Verdict};

/// How a hose gives way over the movement of its ends.
#[derive(Clone, Debug)]
pub(super) struct Sway {
    /// How far any of its points goes from where it is at rest, as far as was looked, mm.
    pub most_mm: f64,
    /// Every pose looked at, the one at rest first.
    looks: Vec<Look>,
}

#[derive(Clone, Debug)]
struct Look {
    /// Values of the freedoms of both carriers.
    values: Vec<(String, Vec<f64>)>,
    found: Result<Relaxed, HoseError>,
}

/// Poses of a carrier that are looked at: each freedom at both ends and in its middle.
fn poses_of(scene: &Scene, carrier: usize) -> Vec<Vec<f64>> {
    let freedoms = &scene.carriers[carrier].movement.freedoms;
    freedoms.iter().fold(vec![Vec::new()], |sets, freedom| {
        let (from, to) = freedom.range();
        sets.iter()
            .flat_map(|set| {
                [from, (from + to) / 2.0, to]
                    .map(|value| set.iter().copied().chain([value]).collect::<Vec<f64>>())
            })
            .collect()
    })
}

/// How a body gives way when it is a hose whose ends ride on different carriers; `None` for all others.
pub(super) fn sway_of(scene: &Scene, body: &Body) -> Option<Sway> {
    let run = body.hose.as_ref()?;
    let at_rest = run.hose.relaxed();
    let mut sway = Sway { most_mm: 0.0, looks: Vec::new() };
    if let (Ok(rest), Some(other)) = (&at_rest, run.to_carrier.filter(|other| *other != body.carrier)) {
        for own in poses_of(scene, body.carrier) {
            for others in poses_of(scene, other) {
                let moved = moved(scene, body, run, (&own, other, &others));
                let found = moved.relaxed_from(rest).or_else(|_| moved.relaxed());
                if let Ok(found) = &found {
                    let far = rest.points.iter().zip(&found.points).map(|(p, q)| (q - p).norm());
                    sway.most_mm = far.fold(sway.most_mm, f64::max);
                }
                let named = |carrier: usize, at: &[f64]| (scene.carriers[carrier].name.clone(), at.to_vec());
                sway.looks
                    .push(Look { values: vec![named(body.carrier, &own), named(other, &others)], found });
            }
        }
    }
    sway.looks.insert(0, Look { values: Vec::new(), found: at_rest });
    Some(sway)
}

/// The hose as its own carrier sees it, its last end gone with what that rides on.
fn moved(scene: &Scene, body: &Body, run: &HoseRun, (own, other, others): (&[f64], usize, &[f64])) -> Hose {
    let world_from_own: Pose = scene.carriers[body.carrier].movement.world_from_rest(own);
    let world_from_other: Pose = scene.carriers[other].movement.world_from_rest(others);
    let body_from_end =
        body.world_from_body.inverse() * world_from_own.inverse() * world_from_other * body.world_from_body;
    let to = Port { at: body_from_end * run.hose.to.at, out: body_from_end * run.hose.to.out };
    let up = (world_from_own * body.world_from_body).rotation.inverse() * nalgebra::Vector3::z_axis();
    Hose { to, up, ..run.hose.clone() }
}

/// What is wrong with the hoses of a scene.
pub(super) fn check(scene: &Scene, ready: &[Ready<'_>], findings: &mut Findings) {
    for ready in ready {
        let (Some(run), Some(sway)) = (&ready.body.hose, &ready.sway) else { continue };
        judge(scene, ready.body, run, sway, findings);
        if sway.looks.len() > 1 {
            findings.not_checked.push(format!(
                "hose `{}`: how it gives way was looked at in {} poses of its ends, not proved between them",
                ready.body.name,
                sway.looks.len()
            ));
        }
    }
}

fn judge(scene: &Scene, body: &Body, run: &HoseRun, sway: &Sway, findings: &mut Findings) {
    let name = &body.name;
    let mut short: Option<(f64, &Look, String)> = None;
    let mut not_found: Option<(&Look, String)> = None;
    let mut bend: Option<(f64, nalgebra::Point3<f64>, &Look)> = None;
    let mut fall: Option<(f64, nalgebra::Point3<f64>, &Look)> = None;
    for look in &sway.looks {
        match &look.found {
            // That its shape was not found says nothing of the hose.
            Err(cause @ HoseError::NotFound { .. }) => {
                not_found = not_found.or(Some((look, cause.to_string())))
            }
            Err(cause) => {
                let by_mm = match cause {
                    HoseError::TooShort { length, chord, .. } => (*chord - *length).mm(),
                    _ => 0.0,
                };
                if short.as_ref().is_none_or(|(most, ..)| by_mm > *most) {
                    short = Some((by_mm, look, cause.to_string()));
                }
            }
            Ok(found) => {
                let tight = found.tightest();
                if bend.as_ref().is_none_or(|(least, ..)| tight.radius_mm < *least) {
                    bend = Some((tight.radius_mm, tight.at, look));
                }
                let least = found.fall();
                if fall.as_ref().is_none_or(|(before, ..)| least.least_rad < *before) {
                    fall = Some((least.least_rad, least.at, look));
                }
            }
        }
    }
    let finding_of = |verdict,
                      code,
                      look: &Look,
                      at: nalgebra::Point3<f64>,
                      sizes: Option<(f64, f64)>,
                      message: String| {
        let carrier_pose = look.values.first().map_or_else(Pose::identity, |(_, values)| {
            scene.carriers[body.carrier].movement.world_from_rest(values)
        });
        let at = carrier_pose * body.world_from_body * at;
        Finding {
            code,
            verdict,
            bodies: vec![name.clone()],
            required: sizes.map(|(required, _)| Length::from_mm(required)),
            actual: sizes.map(|(_, actual)| Length::from_mm(actual)),
            at_rest: None,
            uncertainty: None,
            figures: Vec::new(),
            shown: Vec::new(),
            place: Some(Place {
                on_first: at,
                on_second: at,
                pose: pose_words(scene, &look.values),
                values: look.values.clone(),
            }),
            rule: "a hose reaches, bends no tighter than it may, and falls where it drains".to_owned(),
            because: "a hose that is pulled straight or kinked fails; common practice, no source".to_owned(),
            cure: None,
            message,
        }
    };
    if let Some((look, cause)) = &not_found {
        let message = format!("hose `{name}`, {}: {cause}", pose_words(scene, &look.values));
        findings.list.push(finding_of(
            Verdict::Undecided,
            "hose-length",
            look,
            run.hose.to.at,
            None,
            message,
        ));
    }
    let finding =
        |code, look: &Look, at, sizes, message| finding_of(Verdict::Short, code, look, at, sizes, message);
    if let Some((_, look, cause)) = &short {
        let words = pose_words(scene, &look.values);
        let message = format!("hose `{name}`, {words}: {cause}");
        findings.list.push(finding("hose-length", look, run.hose.to.at, None, message));
    }
    if let Some((radius_mm, at, look)) = bend
        && radius_mm < run.least_bend_mm
    {
        let words = pose_words(scene, &look.values);
        let message = format!(
            "hose `{name}`, {words}: bends to {radius_mm:.0} mm where {:.0} mm is the least; turn its ports, move a clip, or \
             change its length",
            run.least_bend_mm
        );
        findings.list.push(finding("hose-bend", look, at, Some((run.least_bend_mm, radius_mm)), message));
    }
    if let Some((least_rad, at, look)) = fall
        && run.drains
        && least_rad <= 0.0
    {
        let words = pose_words(scene, &look.values);
        let message = format!(
            "hose `{name}`, {words}: does not fall all the way; it climbs by up to {:.1} deg on its way down; shorten it, or clip \
             it up where it sags",
            -least_rad.to_degrees()
        );
        findings.list.push(finding("hose-fall", look, at, None, message));
    }
}
