//! Service points.

use nalgebra::{Point3, Unit, Vector3};

use super::names::Names;
use super::poses::{Poses, aimed};
use crate::scene::decode::{Named, WrittenOpening, WrittenOpeningSize, WrittenService};
use crate::scene::{Body, ServiceKind, ServicePoint};
use crate::space::{Length, Pose};

/// What service points are looked up in.
#[allow(missing_docs)]
pub(super) struct Known<'a> {
    pub bodies: &'a [Body],
    pub body_names: &'a Names<'a>,
    pub openings: &'a [WrittenOpening],
    pub opening_names: &'a Names<'a>,
    pub standing_names: &'a Names<'a>,
    pub poses: &'a Poses<'a>,
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
        (None, _) => middle(body, &along),
    };
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
    match (written, kind) {
        (Some(WrittenOpeningSize::Diameter(mm)), _) => Some((*mm, "given in the scene".to_owned())),
        (Some(WrittenOpeningSize::Named(name)), _) => library(&name.text),
        (None, ServiceKind::Touch) => library("hand-bare"),
        (None, ServiceKind::Turn { .. }) => library("fist-bare"),
        (None, ServiceKind::Pour { spout_radius, .. }) => {
            Some((2.0 * spout_radius.mm(), "the spout itself".to_owned()))
        }
        (None, ServiceKind::LiftOut { .. }) => Some((0.0, "none: the body itself must pass".to_owned())),
    }
}
