//! The bay as a hand meets it: hinges open, everything else at rest.

use crate::access::{Bodies, Outside, StandingBody};
use crate::check::pair::Ready;
use crate::check::uncertainty::COVERAGE;
use crate::motion::Freedom;
use crate::scene::Scene;
use crate::space::{Angle, Bounds, Pose};

/// Room beyond the outermost body that still counts as the bay, mm.
const MARGIN_MM: f64 = 10.0;
/// Air above the highest body: a hand over a rim is there, mm.
const ABOVE_MM: f64 = 150.0;

/// A bay whose bodies are known no better than this is not searched further, mm.
const MOST_WORST_MM: f64 = 400.0;

/// Obstacles in the order of the scene's bodies, and where the hand comes from.
pub(super) struct Bay {
    pub bodies: Bodies,
    pub outside: Outside,
    /// Each carrier's freedom values while servicing.
    pub values: Vec<(String, Vec<f64>)>,
}

impl Bay {
    pub fn of(scene: &Scene, ready: &[Ready<'_>]) -> Result<Self, crate::access::AccessError> {
        let mut values = Vec::new();
        let mut world_from_rest = Vec::new();
        let mut hinged = Vec::new();
        for carrier in &scene.carriers {
            let at: Vec<f64> = carrier
                .movement
                .freedoms
                .iter()
                .zip(&carrier.freedom_words)
                .map(|(freedom, word)| if word == "hinge" { open_by(freedom, scene.hood_open) } else { 0.0 })
                .collect();
            world_from_rest.push(carrier.movement.world_from_rest(&at));
            hinged.push(carrier.freedom_words.iter().any(|word| word == "hinge"));
            if at.iter().any(|value| *value != 0.0) {
                values.push((carrier.name.clone(), at));
            }
        }
        let list: Vec<StandingBody> = ready
            .iter()
            .map(|ready| StandingBody {
                name: ready.body.name.clone(),
                shape: ready.shape.clone(),
                world_from_body: world_from_rest[ready.body.carrier] * ready.body.world_from_body,
                cover_mm: ready.body.cover.mm(),
            })
            .collect();
        let bodies = Bodies::new(list)?;
        // What swings out of the way does not make the bay larger.
        let bay = ready
            .iter()
            .enumerate()
            .filter(|(_, ready)| !hinged[ready.body.carrier])
            .fold(Bounds::EMPTY, |bay, (at, _)| bay.union(&bodies.bounds_of(at)));
        let mut bay = bay.grown(MARGIN_MM);
        bay.max.z += ABOVE_MM;
        Ok(Bay { bodies, outside: Outside::hood_open(bay), values })
    }

    /// Numbers of bodies by name; names that are no body's are left out (the scene has judged them).
    pub fn numbers(&self, names: &[String]) -> Vec<usize> {
        names.iter().filter_map(|name| self.bodies.number(name)).collect()
    }
}

/// No opening between two of these bodies is less well known than this: expanded, mm.
pub(super) fn worst_mm(ready: &[Ready<'_>]) -> f64 {
    let worst = ready.iter().map(|ready| ready.worst_standard_mm).fold(0.0, f64::max);
    (COVERAGE * worst * std::f64::consts::SQRT_2).min(MOST_WORST_MM)
}

/// The end of a hinge's range that is farther from rest.
fn open_end(freedom: &Freedom) -> f64 {
    let (from, to) = freedom.range();
    if from.abs() > to.abs() { from } else { to }
}

/// How far a hinge stands open in service: as far as the scene says, and no farther than it goes.
fn open_by(freedom: &Freedom, asked: Option<Angle>) -> f64 {
    let end = open_end(freedom);
    asked.map_or(end, |asked| end.signum() * asked.rad().abs().min(end.abs()))
}

/// Where the world stands for a body that is asked about at these values.
pub(super) fn moved(scene: &Scene, carrier: usize, values: &[(String, Vec<f64>)]) -> Pose {
    let carrier = &scene.carriers[carrier];
    values
        .iter()
        .find(|(name, _)| *name == carrier.name)
        .map_or_else(Pose::identity, |(_, at)| carrier.movement.world_from_rest(at))
}
