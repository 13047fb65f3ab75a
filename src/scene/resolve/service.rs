//! Service points.

use nalgebra::{Point3, Unit, Vector3};

use super::names::Names;
use super::poses::{Poses, aimed};
use crate::clearance::{IndexedShape, distance_under};
use crate::scene::decode::{Named, WrittenOpening, WrittenOpeningSize, WrittenService};
use crate::scene::error::{Fault, Faults};
use crate::scene::{Body, Carrier, Joined, ServiceKind, ServicePoint, ServiceTool, WrenchJob};
use crate::space::{Length, Pose};

/// What service points are looked up in.
#[allow(missing_docs)]
pub(super) struct Known<'a> {
    pub bodies: &'a [Body],
    pub body_names: &'a Names<'a>,
    pub openings: &'a [WrittenOpening],
    pub opening_names: &'a Names<'a>,
    pub standing_names: &'a Names<'a>,
    pub tools: &'a [ServiceTool],
    pub tool_names: &'a Names<'a>,
    pub poses: &'a Poses<'a>,
    pub joined: &'a [Joined],
    pub carriers: &'a [Carrier],
    pub gloved: bool,
    pub faults: &'a Faults,
}

/// The service points.
pub(super) fn service(written: &[WrittenService], known: &Known<'_>) -> Vec<ServicePoint> {
    written.iter().filter_map(|point| one(point, known)).collect()
}

fn one(written: &WrittenService, known: &Known<'_>) -> Option<ServicePoint> {
    for name in &written.without {
        known.body_names.find(name);
    }
    for name in &written.from {
        known.standing_names.find(name);
    }
    for name in &written.tools {
        known.tool_names.find(name);
    }
    let world_from_on = match &written.on {
        Some(name) => known.poses.find(name),
        None => Some(Pose::identity()),
    };
    if let Some(WrittenOpeningSize::Named(name)) = &written.opening {
        known.opening_names.find(name);
    }
    known.body_names.find(&written.body)?;
    let kind = written.kind.clone()?;
    let opening = opening(&written.opening, &kind, known);
    let world_from_on = world_from_on?;
    let along = aimed(&written.along, &world_from_on);
    let body = known.bodies.iter().find(|body| body.name == written.body.text)?;
    let at = match (&written.at, &kind) {
        (Some(at), _) => world_from_on * at,
        (None, ServiceKind::Touch | ServiceKind::LiftOut { .. }) => middle(body, &Vector3::zeros()),
        // A fastener's seat is at its foot.
        (None, ServiceKind::Wrench(_) | ServiceKind::Clamp(_)) => middle(body, &-along),
        (None, _) => middle(body, &along),
    };
    inside(written, body, &at, known);
    if let ServiceKind::Wrench(job) | ServiceKind::Clamp(job) = &kind {
        a_tool_fits(written, job, known);
    }
    let texts = |names: &[Named]| names.iter().map(|name| name.text.clone()).collect();
    let (diameter_mm, opening_source) = opening?;
    Some(ServicePoint {
        name: written.name.text.clone(),
        kind,
        body: written.body.text.clone(),
        at,
        along: Unit::new_normalize(along),
        opening: Length::from_mm(diameter_mm),
        opening_source,
        from: texts(&written.from),
        without: texts(&written.without),
        span: written.name.place.span(),
    })
}

/// The middle of a body's bounds, or of their face toward a direction of the vehicle.
fn middle(body: &Body, toward: &Vector3<f64>) -> Point3<f64> {
    let bounds = body.shape.bounds();
    let half = bounds.size() / 2.0;
    let axes = body.world_from_body.rotation.to_rotation_matrix();
    let reach: f64 = (0..3).map(|at| (axes.matrix().column(at).dot(toward) * half[at]).abs()).sum();
    body.world_from_body * bounds.center() + toward * reach
}

/// Deeper than this a point lies inside a body, not on it, mm.
const INSIDE_MM: f64 = 5.0;

/// Tells of a point that was written inside another body; what swings open in service is not looked at, nor what is
/// fastened to the body served.
fn inside(written: &WrittenService, body: &Body, at: &Point3<f64>, known: &Known<'_>) {
    if written.at.is_none() {
        return;
    }
    let swings = |other: &Body| {
        known
            .carriers
            .get(other.carrier)
            .is_some_and(|one| one.freedom_words.iter().any(|word| word == "hinge"))
    };
    let fastened = |other: &Body| {
        known.joined.iter().any(|pair| {
            (pair.one == body.name && pair.other == other.name)
                || (pair.other == body.name && pair.one == other.name)
        })
    };
    for other in known.bodies {
        let off = written.without.iter().any(|name| name.text == other.name);
        if other.name == body.name || off || swings(other) || fastened(other) {
            continue;
        }
        let local = other.world_from_body.inverse() * at;
        if !other.shape.bounds().contains(&local) {
            continue;
        }
        let indexed = IndexedShape::new(other.shape.clone());
        let deep = distance_under(&indexed, &local, Length::ZERO).map_or(0.0, |closest| -closest.distance_mm);
        if deep > INSIDE_MM {
            let fault = Fault::PointInside {
                point: written.name.text.clone(),
                depth: Length::from_mm(deep),
                body: other.name.clone(),
            };
            known.faults.add(written.name.place.clone(), fault);
            return;
        }
    }
}

/// Tells of a fastener that no tool fits.
fn a_tool_fits(written: &WrittenService, job: &WrenchJob, known: &Known<'_>) {
    let unknown = job.tools.iter().any(|name| known.tool_names.position(name).is_none());
    if unknown || known.tools.iter().any(|tool| tool.may_do(job)) {
        return;
    }
    let mut sizes: Vec<f64> = known
        .tools
        .iter()
        .filter(|tool| job.tools.is_empty() || job.tools.contains(&tool.name))
        .filter(|tool| tool.torque || !job.torque)
        .flat_map(|tool| tool.fits_mm.iter().copied())
        .collect();
    sizes.sort_by(f64::total_cmp);
    sizes.dedup();
    let fault = Fault::NoToolFits {
        point: written.name.text.clone(),
        size: job.size,
        torque: job.torque,
        sizes: sizes.iter().map(f64::to_string).collect(),
    };
    known.faults.add(written.name.place.clone(), fault);
}

/// Diameter (mm) and source of the opening that a service point needs.
fn opening(
    written: &Option<WrittenOpeningSize>,
    kind: &ServiceKind,
    known: &Known<'_>,
) -> Option<(f64, String)> {
    let library = |name: &str| {
        let opening = &known.openings[known.opening_names.position(name)?];
        Some((opening.diameter_mm, format!("{name}: {}", opening.source)))
    };
    let hand = |name: &'static str| {
        let gloved = known.gloved.then(|| name.replace("-bare", "-gloved"));
        gloved.and_then(|gloved| library(&gloved)).or_else(|| library(name))
    };
    match (written, kind) {
        (Some(WrittenOpeningSize::Diameter(mm)), _) => Some((*mm, "given in the scene".to_owned())),
        (Some(WrittenOpeningSize::Named(name)), _) => library(&name.text),
        (None, ServiceKind::Touch | ServiceKind::Pull { .. }) => hand("hand-bare"),
        (None, ServiceKind::Turn { .. }) => hand("fist-bare"),
        (None, ServiceKind::Plug { .. }) => hand("two-fingers-bare"),
        (None, ServiceKind::Wrench(_) | ServiceKind::Clamp(_)) => hand("hand-with-25mm-bare"),
        (None, ServiceKind::See { .. }) => Some((0.0, "none: it is looked at".to_owned())),
        (None, ServiceKind::Pour { spout_radius, .. }) => {
            Some((2.0 * spout_radius.mm(), "the spout itself".to_owned()))
        }
        (None, ServiceKind::LiftOut { .. }) => Some((0.0, "none: the body itself must pass".to_owned())),
    }
}
