//! What a route must keep clear of in a scene: every other body, with the room that the rules ask of it.

use crate::route::{Obstacle, Ride};
use crate::scene::{Body, Scene};

use super::pair::{Poses, Ready};
use super::rules::asked_of;
use super::{COVERAGE, ShapeStore};

/// Every body of a scene as an obstacle to a tube that is to be routed.
///
/// `tube` says the tube's roles, carrier, name and placement; its shape is not looked at, and it need not be in the scene.
/// Each asks what its room rule asks, and more by its own cover and by the greatest expanded uncertainty (k = 2) that
/// a gap between the two can have, so that a check calls the route clear and not undecided. The tube's own cover is the
/// route's; its own growth in heat is not counted, for it depends on the route. Bodies in `without` are left out; those in `joined` do not see the tube's ends.
pub fn route_obstacles(
    scene: &Scene,
    tube: &Body,
    without: &[String],
    joined: &[String],
    store: &mut ShapeStore,
) -> Vec<Obstacle> {
    let own = Ready::new(scene, tube, store, Poses::Movement).worst_standard_mm;
    scene
        .bodies
        .iter()
        .filter(|body| body.name != tube.name && !without.contains(&body.name))
        .map(|body| {
            let ready = Ready::new(scene, body, store, Poses::Movement);
            let is_joined = joined.contains(&body.name);
            let asked_mm = if is_joined {
                0.0
            } else {
                asked_of(scene, tube, body).least.mm() + COVERAGE * own.hypot(ready.worst_standard_mm)
            };
            let ride = if body.carrier == tube.carrier {
                Ride::WithTube
            } else {
                Ride::Own(scene.carriers[body.carrier].movement.clone())
            };
            Obstacle {
                name: body.name.clone(),
                required_mm: asked_mm + (ready.reach() + ready.off).mm(),
                shape: ready.shape,
                world_from_solid: body.world_from_body,
                ride,
                joined: is_joined,
            }
        })
        .collect()
}
