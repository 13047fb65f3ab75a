//! What a person should know who gets there: what is hot beside the way, where the elbow must follow, and what lies under
//! a filler.
//!
//! A caution is no verdict: nothing is too near, and nobody is kept from anything.

use nalgebra::{Point3, Vector3};

use crate::access::{AccessError, Obstacles, SightLine, opening_named, sight_line};
use crate::check::pair::{Ready, pose_words};
use crate::check::{Figure, FigureUnit, Finding, Place, Verdict};
use crate::clearance::distance_under;
use crate::scene::{Body, Scene, ServiceKind, ServicePoint};
use crate::space::Length;

use super::bay::Bay;
use super::hand::FINGER_OPENING_MM;

/// Burn threshold of any material touched for a minute, deg C: ISO 13732-1:2006, from memory. A short touch of bare
/// metal (1 s) burns from some 65 deg C on; whoever works in a bay leans on things.
pub(super) const BURN_C: f64 = 51.0;
/// A hand that passes within this of a surface may lean on it, mm: common practice, no source.
const LEAN_MM: f64 = 25.0;
/// The way is looked at so often, mm.
const STEP_MM: f64 = 10.0;
/// What is spilt falls within so much of the spout's edge, mm: common practice, no source.
const SPILL_MM: f64 = 30.0;
/// Roles that nothing should be spilt on.
const SPOILT: [&str; 5] = ["hot", "electrical", "battery", "belt", "harness"];

/// The way of a hand, to the very point.
pub(super) struct Reached<'a> {
    /// Of the hand: middles of a ball that passes; empty when no way was found.
    pub hand: &'a [Point3<f64>],
    /// Of the fingers before it, to the point; empty when no way was found.
    pub fingers: &'a [Point3<f64>],
    /// What is touched: the point; for a tool where it is held, and the fastener that it is put on.
    pub touched: &'a [Point3<f64>],
}

/// Why a body is hot, when it is.
fn heat(body: &Body) -> Option<String> {
    match body.hot_c {
        Some(hot) if hot > BURN_C => Some(format!("gets {hot:.0} deg C hot")),
        Some(_) => None,
        None => body.roles.iter().any(|role| role == "hot").then(|| "is a hot part".to_owned()),
    }
}

/// Hot bodies that a hand passes on its way, nearest first; one caution for all of them.
pub(super) fn heat_beside(
    scene: &Scene,
    ready: &[Ready<'_>],
    bay: &Bay,
    point: &ServicePoint,
    way: &Reached<'_>,
    hand_mm: f64,
) -> Option<Finding> {
    let (hand_mm, finger_mm) = (0.5 * hand_mm, 0.5 * hand_mm.min(FINGER_OPENING_MM));
    let places: Vec<(Point3<f64>, f64)> = steps(way.hand)
        .map(|at| (at, hand_mm))
        .chain(steps(way.fingers).map(|at| (at, finger_mm)))
        .chain(steps(way.touched).map(|at| (at, finger_mm)))
        .collect();
    let mut met: Vec<(f64, Point3<f64>, String, String)> = Vec::new();
    for (number, one) in ready.iter().enumerate() {
        let Some(why) = heat(one.body) else { continue };
        let Some(standing) = bay.bodies.list().get(number) else { continue };
        let mut least: Option<(f64, Point3<f64>)> = None;
        // How far the hand's own surface is from that of the body.
        for (at, radius_mm) in &places {
            let local = standing.world_from_body.inverse() * at;
            let round_mm = radius_mm + standing.cover_mm;
            let limit_mm = least.map_or(LEAN_MM, |(mm, _)| mm) + round_mm;
            if let Some(closest) = distance_under(&standing.shape, &local, Length::from_mm(limit_mm)) {
                least = Some((closest.distance_mm - round_mm, standing.world_from_body * closest.point));
            }
        }
        if let Some((mm, at)) = least {
            met.push((mm, at, one.body.name.clone(), why));
        }
    }
    met.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.2.cmp(&b.2)));
    let (nearest_mm, at) = met.first().map(|(mm, at, ..)| (*mm, *at))?;
    let list: Vec<String> = met.iter().take(4).map(|(_, _, name, why)| format!("`{name}` {why}")).collect();
    let more = met.len().saturating_sub(4);
    let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
    let message = format!(
        "service point `{}`: the hand passes hot parts on its way, or touches them: {}{rest}; let them cool before anybody reaches in",
        point.name,
        list.join(", ")
    );
    let figure = Figure {
        what: "heat",
        unit: FigureUnit::Mm,
        required: None,
        actual: Some(nearest_mm.max(0.0)),
        at_least: false,
        uncertainty: None,
        verdict: Verdict::Clear,
    };
    let bodies = met.into_iter().map(|(_, _, name, _)| name).collect();
    let because = format!(
        "surfaces over {BURN_C:.0} deg C burn who leans on them for a minute (ISO 13732-1, from memory)"
    );
    Some(caution(scene, bay, point, bodies, &at, because, message, vec![figure]))
}

/// From the fingertips to the elbow, mm; a short one, for then more of the arm must follow. Common practice, no source.
const FOREARM_MM: f64 = 400.0;

/// Where more than hand and forearm must go in, and the way is too narrow there for an arm to the shoulder: the elbow
/// can neither follow nor bend.
pub(super) fn elbow(
    scene: &Scene,
    bay: &Bay,
    point: &ServicePoint,
    way: &Reached<'_>,
) -> Result<Option<Finding>, AccessError> {
    let Some(arm) = opening_named("arm-to-shoulder") else { return Ok(None) };
    let mut without = bay.numbers(&point.without);
    without.extend(bay.bodies.number(&point.body));
    let obstacles = bay.bodies.obstacles(&without)?;
    let places: Vec<Point3<f64>> = steps(way.hand).collect();
    // Deep is counted from the point, not from where the hand's middle stops.
    let mut from_end_mm: f64 = way.fingers.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum();
    let mut near = Vec::new();
    let mut tight: Option<(f64, f64, Point3<f64>)> = None;
    for pair in places.windows(2).rev() {
        from_end_mm += (pair[1] - pair[0]).norm();
        if from_end_mm < FOREARM_MM {
            continue;
        }
        let limit_mm = tight.map_or(0.5 * arm.round_mm, |(width_mm, ..)| 0.5 * width_mm);
        obstacles.near(&pair[0], limit_mm, 0.0, &mut near);
        if let Some(nearest) = near.first() {
            tight = Some((2.0 * nearest.clearance_mm, from_end_mm, pair[0]));
        }
    }
    let Some((width_mm, deep_mm, at)) = tight else { return Ok(None) };
    let message = format!(
        "service point `{}`: {} from the point the elbow has to follow through a way {} wide; an arm to the \
         shoulder asks for {}",
        point.name,
        Length::from_mm(deep_mm.round()),
        Length::from_mm(width_mm.round()),
        Length::from_mm(arm.round_mm),
    );
    let figure = Figure {
        what: "elbow",
        unit: FigureUnit::Mm,
        required: Some(arm.round_mm),
        actual: Some(width_mm),
        at_least: false,
        uncertainty: None,
        verdict: Verdict::Clear,
    };
    let because = format!("an elbow that cannot follow ends the reach there ({}, from memory)", arm.source);
    let bodies = vec![point.body.clone()];
    Ok(Some(caution(scene, bay, point, bodies, &at, because, message, vec![figure])))
}

/// The way in steps.
fn steps(path: &[Point3<f64>]) -> impl Iterator<Item = Point3<f64>> + '_ {
    let alone = (path.len() == 1).then(|| path[0]);
    alone.into_iter().chain(path.windows(2).flat_map(|pair| {
        let (from, line) = (pair[0], pair[1] - pair[0]);
        let count = (line.norm() / STEP_MM).ceil().clamp(1.0, 1e4) as usize;
        (0..=count).map(move |step| from + line * (step as f64 / count as f64))
    }))
}

/// What lies straight under a filler and had better not be wetted; nothing for other kinds.
pub(super) fn under_filler(
    scene: &Scene,
    ready: &[Ready<'_>],
    bay: &Bay,
    point: &ServicePoint,
    at: &Point3<f64>,
) -> Result<Option<Finding>, AccessError> {
    let ServiceKind::Pour { spout_radius, .. } = point.kind else { return Ok(None) };
    // What it is poured into, with what that is fastened to in turn: its neck, its tank.
    let mut vessel = vec![point.body.clone()];
    for _ in 0..2 {
        for pair in &scene.joined {
            for (one, other) in [(&pair.one, &pair.other), (&pair.other, &pair.one)] {
                let holds = scene.body(other).is_some_and(|body| {
                    body.roles.iter().any(|role| matches!(role.as_str(), "tank" | "filler" | "cap"))
                });
                if holds && vessel.contains(one) && !vessel.contains(other) {
                    vessel.push(other.clone());
                }
            }
        }
    }
    let mut without = bay.numbers(&point.without);
    without.extend(bay.numbers(&vessel));
    let obstacles = bay.bodies.obstacles(&without)?;
    let (ring_mm, floor) = (spout_radius.mm() + SPILL_MM, bay.outside.bay.min.z);
    let mut met: Vec<(usize, Point3<f64>)> = Vec::new();
    for drop in 0..=16 {
        let angle = std::f64::consts::TAU * f64::from(drop) / 16.0;
        let out = if drop == 16 { 0.0 } else { ring_mm };
        let from = at + Vector3::new(out * angle.cos(), out * angle.sin(), 0.0);
        if from.z <= floor {
            continue;
        }
        let line = sight_line(&obstacles, &from, &Point3::new(from.x, from.y, floor), 0.0);
        if let SightLine::Blocked { body, at } | SightLine::Grazes { body, at } = line
            && met.iter().all(|(known, _)| *known != body)
        {
            met.push((body, at));
        }
    }
    let spoilt = |body: &Body| {
        heat(body).or_else(|| {
            body.roles.iter().find(|role| SPOILT.contains(&role.as_str())).map(|role| format!("is {role}"))
        })
    };
    let told: Vec<(String, String, Point3<f64>)> = met
        .into_iter()
        .filter_map(|(number, at)| {
            let body = ready.get(number)?.body;
            Some((body.name.clone(), spoilt(body)?, at))
        })
        .collect();
    let Some((_, _, first)) = told.first() else { return Ok(None) };
    let list: Vec<String> = told.iter().map(|(name, why, _)| format!("`{name}` {why}")).collect();
    let message = format!(
        "service point `{}`: what is spilt falls on {}; cover it, and wipe up before the engine is started",
        point.name,
        list.join(", ")
    );
    let bodies = told.iter().map(|(name, _, _)| name.clone()).collect();
    let because = "fluids on hot or electrical parts burn, short or smoke".to_owned();
    Ok(Some(caution(scene, bay, point, bodies, first, because, message, Vec::new())))
}

#[allow(clippy::too_many_arguments)]
fn caution(
    scene: &Scene,
    bay: &Bay,
    point: &ServicePoint,
    bodies: Vec<String>,
    at: &Point3<f64>,
    because: String,
    message: String,
    figures: Vec<Figure>,
) -> Finding {
    Finding {
        code: "caution",
        verdict: Verdict::Clear,
        bodies,
        required: None,
        actual: None,
        at_rest: None,
        uncertainty: None,
        place: Some(Place {
            on_first: point.at,
            on_second: *at,
            pose: pose_words(scene, &bay.values),
            values: bay.values.clone(),
        }),
        rule: format!("service point `{}`: caution", point.name),
        because,
        cure: None,
        message,
        figures,
        shown: Vec::new(),
    }
}
