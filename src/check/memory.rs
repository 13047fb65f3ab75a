//! What a checker remembers of the pairs it looked at: when one candidate moves, only its pairs are asked again.

use std::collections::HashMap;
use std::sync::Arc;

use crate::motion::Movement;
use crate::scene::{Body, HoseRun, Placement, Scene};
use crate::solid::Shape;
use crate::space::{Length, Pose};

use super::growth::growth_of;
use super::pair::PairGap;

/// All of a body that an answer depends on, the words in it included.
#[derive(Clone, Debug)]
struct Stands {
    shape: Arc<Shape>,
    world_from_body: Pose,
    carrier: String,
    freedom_words: Vec<String>,
    movement: Movement,
    cover: Length,
    growth: Length,
    placement: Placement,
    /// When it is a hose: what it is, and how the carrier of its last end moves.
    hose: Option<(Arc<HoseRun>, Option<Movement>)>,
}

fn hose_of(scene: &Scene, body: &Body) -> Option<(Arc<HoseRun>, Option<Movement>)> {
    let run = body.hose.as_ref()?;
    let movement = run.to_carrier.map(|carrier| scene.carriers[carrier].movement.clone());
    Some((Arc::clone(run), movement))
}

impl Stands {
    fn of(scene: &Scene, body: &Body) -> Self {
        let carrier = &scene.carriers[body.carrier];
        Stands {
            shape: Arc::clone(&body.shape),
            world_from_body: body.world_from_body,
            carrier: carrier.name.clone(),
            freedom_words: carrier.freedom_words.clone(),
            movement: carrier.movement.clone(),
            cover: body.cover,
            growth: growth_of(body),
            placement: body.placement.clone(),
            hose: hose_of(scene, body),
        }
    }

    /// Whether a body stands as this one did. The same shape is the same `Arc`: shapes are not compared.
    fn is(&self, scene: &Scene, body: &Body) -> bool {
        let carrier = &scene.carriers[body.carrier];
        Arc::ptr_eq(&self.shape, &body.shape)
            && self.world_from_body == body.world_from_body
            && self.carrier == carrier.name
            && self.freedom_words == carrier.freedom_words
            && self.movement == carrier.movement
            && self.cover == body.cover
            && self.growth == growth_of(body)
            && self.placement == body.placement
            && self.hose == hose_of(scene, body)
    }
}

/// The answers of one check.
#[derive(Clone, Debug, Default)]
pub(super) struct Memory {
    bodies: HashMap<String, Stands>,
    /// By the bodies' names, in the scene's order: the least gap asked for, and the gap where it was needed.
    answers: HashMap<(String, String), (Length, Option<PairGap>)>,
}

/// What is remembered, as far as it holds for a scene.
pub(super) struct Holding<'a> {
    memory: &'a Memory,
    /// For each body of the scene, whether it stands as remembered.
    same: Vec<bool>,
}

impl Memory {
    /// What of it holds for a scene.
    pub fn holding(&self, scene: &Scene) -> Holding<'_> {
        let same = |body: &Body| self.bodies.get(&body.name).is_some_and(|stands| stands.is(scene, body));
        Holding { memory: self, same: scene.bodies.iter().map(same).collect() }
    }

    /// The memory of a check just done.
    pub fn of(
        scene: &Scene,
        answers: impl Iterator<Item = ((usize, usize), (Length, Option<PairGap>))>,
    ) -> Self {
        let name = |at: usize| scene.bodies[at].name.clone();
        Memory {
            bodies: scene.bodies.iter().map(|body| (body.name.clone(), Stands::of(scene, body))).collect(),
            answers: answers.map(|((first, second), answer)| ((name(first), name(second)), answer)).collect(),
        }
    }
}

impl Holding<'_> {
    /// The answer for a pair, if it was asked the same before and neither body stands otherwise.
    pub fn answer(&self, scene: &Scene, pair: (usize, usize), least: Length) -> Option<Option<PairGap>> {
        if !self.same[pair.0] || !self.same[pair.1] {
            return None;
        }
        let name = |at: usize| scene.bodies[at].name.clone();
        let (asked, answer) = self.memory.answers.get(&(name(pair.0), name(pair.1)))?;
        (*asked == least).then(|| answer.clone())
    }
}
