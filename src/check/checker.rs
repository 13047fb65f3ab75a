//! All checks of a scene, run in one order.

use crate::scene::{Body, Scene};
use crate::space::Length;

use super::memory::Memory;
use super::pair::{Pair, Ready};
use super::{Findings, PairGap, Poses, ShapeStore, flow, hoses, joined, joints, kept, making, room, service};

/// Whether pairs of two kept bodies are examined.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum KeptPairs {
    /// The factory's own gaps are taken as found; only what the job adds is judged.
    #[default]
    AsFound,
    /// Examined like every other pair.
    Examined,
}

/// What a check does.
#[derive(Clone, Debug)]
pub struct CheckOptions {
    /// Whether pairs of factory equipment are judged.
    pub kept_pairs: KeptPairs,
    /// How many of the worst room findings get a cure sought; each costs some further checks.
    pub cures: usize,
    /// Whether service points are tried.
    pub service: bool,
}

impl Default for CheckOptions {
    fn default() -> Self {
        CheckOptions { kept_pairs: KeptPairs::AsFound, cures: 20, service: true }
    }
}

/// Answers questions about scenes, and keeps what it had to build for the next question.
#[derive(Debug, Default)]
pub struct Checker {
    store: ShapeStore,
    memory: Memory,
}

impl Checker {
    /// Knows nothing yet.
    pub fn new() -> Self {
        Checker::default()
    }

    /// One that knows the same shapes, and none of the answers.
    pub fn forgetting_answers(&self) -> Self {
        Checker { store: self.store.clone(), memory: Memory::default() }
    }

    /// Every finding of a scene. `before` is the scene before a script ran, when one did: kept equipment
    /// must stand as it stood there.
    ///
    /// Time grows with the pairs that come near their limit; the same scene gives the same findings. What stands as
    /// it stood at the last check is not asked again, so that a candidate that moves costs its own pairs only.
    pub fn check(&mut self, scene: &Scene, before: Option<&Scene>, options: &CheckOptions) -> Findings {
        let mut findings = Findings::default();
        let ready: Vec<Ready<'_>> = scene
            .bodies
            .iter()
            .map(|body| Ready::new(scene, body, &mut self.store, Poses::Movement))
            .collect();
        self.memory = room::check(scene, &ready, options, &self.memory, &mut findings);
        joined::check(scene, &ready, &mut findings);
        joints::check(scene, &ready, &mut findings);
        hoses::check(scene, &ready, &mut findings);
        making::check(scene, &mut findings);
        flow::check(scene, &mut findings);
        if let Some(before) = before {
            kept::check(before, scene, &mut findings);
        }
        if options.service {
            service::check(scene, &ready, &mut findings);
        }
        findings.not_checked.extend(always_unchecked(scene));
        findings.sort();
        findings
    }

    /// Service points alone; `before` is the scene before a script ran, when one did: then kept equipment is looked at
    /// too.
    pub fn reach(&mut self, scene: &Scene, before: Option<&Scene>) -> Findings {
        let mut findings = Findings::default();
        let ready: Vec<Ready<'_>> =
            scene.bodies.iter().map(|body| Ready::new(scene, body, &mut self.store, Poses::Rest)).collect();
        service::check(scene, &ready, &mut findings);
        if let Some(before) = before {
            kept::check(before, scene, &mut findings);
        }
        findings.sort();
        findings
    }

    /// The tree of a body's shape; kept.
    pub(super) fn indexed(
        &mut self,
        shape: &std::sync::Arc<crate::solid::Shape>,
    ) -> crate::clearance::IndexedShape {
        self.store.indexed(shape)
    }

    /// The gap of one pair, covers on; `None` when a name is not a body's or both are one.
    pub fn pair_gap(&mut self, scene: &Scene, one: &str, other: &str, poses: Poses) -> Option<PairGap> {
        if one == other {
            return None;
        }
        let (one, other) = (scene.body(one)?, scene.body(other)?);
        let first = Ready::new(scene, one, &mut self.store, poses);
        let second = Ready::new(scene, other, &mut self.store, poses);
        Some(Pair { scene, first: &first, second: &second, poses, within: None }.gap())
    }

    /// The signed gap of one pair with carriers at given freedom values, covers on, mm: what a viewer shows
    /// while a slider moves. `values` gives each carrier's freedoms in the scene's order.
    pub fn pair_gap_at(
        &mut self,
        scene: &Scene,
        one: &str,
        other: &str,
        values: &[Vec<f64>],
    ) -> Option<(Length, crate::clearance::Witness)> {
        let (one, other) = (scene.body(one)?, scene.body(other)?);
        let placed = |body: &Body| {
            let movement = &scene.carriers.get(body.carrier)?.movement;
            Some(movement.world_from_rest(values.get(body.carrier)?) * body.world_from_body)
        };
        let (world_from_one, world_from_other) = (placed(one)?, placed(other)?);
        let (fixed, moving) = (self.store.indexed(&one.shape), self.store.indexed(&other.shape));
        let gap = crate::clearance::gap(&fixed, &moving, &world_from_one.inv_mul(&world_from_other));
        let witness = crate::clearance::Witness {
            on_fixed: world_from_one * gap.witness.on_fixed,
            on_moving: world_from_one * gap.witness.on_moving,
            normal: world_from_one * gap.witness.normal,
        };
        Some((gap.gap - one.cover - other.cover, witness))
    }
}

/// What no check of this version looks at: said in every report, so that silence is not taken for a verdict.
fn always_unchecked(scene: &Scene) -> Vec<String> {
    let mut said = vec![
        "heat: gaps are judged by room rules, no temperature is computed".to_owned(),
        "strength: brackets, welds and fasteners are not judged".to_owned(),
        "ways in: whether each part can be worked past its neighbours is not judged".to_owned(),
    ];
    if scene.carriers.iter().all(|carrier| carrier.movement.freedoms.is_empty()) {
        said.push("movement: no carrier of this scene moves; engine rock is not covered".to_owned());
    }
    said
}
