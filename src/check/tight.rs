//! How much of a body's surface is too near, not only where it is nearest.

use crate::clearance::{TightPatch, all_under};
use crate::scene::Scene;
use crate::space::Length;

use super::checker::{CheckOptions, Checker};
use super::finding::Finding;
use super::growth::growth_of;

/// What of a body is too near to one other, at the worst pose of both.
#[derive(Clone, Debug, PartialEq)]
pub struct Tight {
    /// The other body.
    pub against: String,
    /// The room that is asked for, covers on.
    pub required: Length,
    /// The pose of the carriers, in words.
    pub pose: String,
    /// Stretches of the body's own surface (covers left off), where the body stands at rest, vehicle axes; the
    /// gaps are with covers on. Nearest first.
    pub patches: Vec<TightPatch>,
}

impl Checker {
    /// For each pair of a body that is not clear: the stretches of its surface that have less than the room
    /// asked for, at the pose of the least gap. Lines across the limit are kept to `resolution`.
    ///
    /// At other poses other places may be too near: this shows the worst one. The measurements' uncertainty is
    /// not added to the room.
    pub fn tight(
        &mut self,
        scene: &Scene,
        name: &str,
        options: &CheckOptions,
        resolution: Length,
    ) -> Vec<Tight> {
        let Some(body) = scene.body(name) else { return Vec::new() };
        let findings = self.check(scene, None, &CheckOptions { service: false, ..options.clone() });
        let of_body = |finding: &&Finding| finding.code == "room" && finding.bodies.iter().any(|b| b == name);
        let mut found = Vec::new();
        for finding in findings.list.iter().filter(of_body) {
            let (Some(place), Some(required)) = (&finding.place, finding.required) else { continue };
            let Some(other) = finding.bodies.iter().find(|b| *b != name).and_then(|b| scene.body(b)) else {
                continue;
            };
            let stands = |body: &crate::scene::Body| {
                let carrier = &scene.carriers[body.carrier];
                let values = place.values.iter().find(|(name, _)| *name == carrier.name);
                carrier.movement.world_from_rest(values.map_or(&[][..], |(_, values)| values))
                    * body.world_from_body
            };
            let covers = body.cover + other.cover + growth_of(body) + growth_of(other);
            let mut patches = all_under(
                &self.indexed(&body.shape),
                &self.indexed(&other.shape),
                &stands(body).inv_mul(&stands(other)),
                required + covers,
                resolution,
            );
            for patch in &mut patches {
                carry(patch, &body.world_from_body, covers);
            }
            found.push(Tight { against: other.name.clone(), required, pose: place.pose.clone(), patches });
        }
        found
    }
}

/// A patch of the body's frame in vehicle axes, its gaps with covers on.
fn carry(patch: &mut TightPatch, world_from_body: &crate::space::Pose, covers: Length) {
    for cell in &mut patch.cells {
        cell.corners = cell.corners.map(|corner| world_from_body * corner);
        cell.gap = cell.gap - covers;
    }
    patch.at = world_from_body * patch.at;
    patch.least = patch.least - covers;
    patch.bounds = crate::space::Bounds::of_points(patch.cells.iter().flat_map(|cell| &cell.corners));
}
