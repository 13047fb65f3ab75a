//! Parts too heavy for hands: what a part weighs, and the straight vertical lift by which it comes in.

use std::sync::Arc;

use nalgebra::{Point3, Vector3};

use crate::access::{Bodies, LiftOutAsk, StandingBody, lift_out};
use crate::clearance::{GapUnder, IndexedShape, gap_under};
use crate::scene::{Body, Hoist, Scene};
use crate::solid::{Cylinder, Shape};
use crate::space::{Length, Pose};
use crate::way_in::{Effort, Way};

use super::error::AssemblyError;
use super::seen::{Shapes, farthest};

/// What hands may lift under the best circumstances, kg: the load constant of the revised lifting equation, NIOSH publication 94-110
/// (from memory). A bay is not the best of circumstances.
pub const MASS_LIMIT_KG: f64 = 23.0;

/// How a part's mass stands to a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Heft<'a> {
    /// Neither the scene nor a material tells its mass.
    Unknown,
    /// Hands may lift it.
    Light,
    /// It is over the limit, and the scene names no point to lift it by.
    NoHoist {
        /// Its mass.
        kg: f64,
    },
    /// It is over the limit and is lifted by a point.
    Hoisted {
        /// Its mass.
        kg: f64,
        /// The point.
        hoist: &'a Hoist,
    },
}

/// Mass of a body, kg: as the scene says, else its shape's volume by its material's density.
pub fn mass_kg(scene: &Scene, body: &Body) -> Option<f64> {
    const M3_PER_MM3: f64 = 1e-9;
    body.mass_kg.or_else(|| {
        let material = scene.material(body.material.as_deref()?)?;
        Some(body.shape.volume_mm3() * M3_PER_MM3 * material.density_kg_m3)
    })
}

/// How a part's mass stands to a limit, kg.
pub fn heft<'a>(scene: &Scene, body: &'a Body, limit_kg: f64) -> Heft<'a> {
    match (mass_kg(scene, body), &body.hoist) {
        (None, _) => Heft::Unknown,
        (Some(kg), _) if kg <= limit_kg => Heft::Light,
        (Some(kg), None) => Heft::NoHoist { kg },
        (Some(kg), Some(hoist)) => Heft::Hoisted { kg, hoist },
    }
}

/// What must be known of a part over the limit without a hoist point.
pub fn no_hoist_words(body: &str, kg: f64, limit_kg: f64) -> String {
    format!(
        "`{body}` weighs {kg:.1} kg, more than the {limit_kg:.1} kg that hands may lift, and the scene gives it no `hoist`: what is told here holds for a \
         part held by hands or gear in any pose; give it a `hoist` to have its straight lift looked at"
    )
}

/// A straight vertical lift.
#[derive(Clone, Debug, PartialEq)]
pub struct Lift {
    /// From outside, straight down, to the mounted pose. Proved at every height where nothing is in the way.
    pub way: Way,
    /// Mass, kg.
    pub kg: f64,
    /// Height of the lift, mm.
    pub travel_mm: f64,
    /// Over so much of it from the mounted pose up the gaps are kept: proved, mm.
    pub free_mm: f64,
    /// What is in the way of the part, in the order in which it is met on the way up, with the height.
    pub met: Vec<(String, f64)>,
    /// What stands in the room of the hook and its chain.
    pub hook_met: Vec<String>,
    /// What must be known about how the question was put.
    pub remarks: Vec<String>,
}

impl Lift {
    /// Whether the part comes in.
    pub fn is_free(&self) -> bool {
        self.met.is_empty() && self.hook_met.is_empty()
    }

    /// Why it does not come in, in words; `None` where it does.
    pub fn stopped_words(&self, limit_kg: f64) -> Option<String> {
        let over = format!(
            "it weighs {:.1} kg, more than the {limit_kg:.1} kg that hands may lift, so it must come straight down by its hoist point",
            self.kg
        );
        if let Some((name, height_mm)) = self.met.first() {
            let more = match self.met.len() {
                1 => String::new(),
                count => format!(" (and {} more)", count - 1),
            };
            return Some(format!(
                "{over}; of {:.0} mm of lift the first {height_mm:.0} from the mounted pose up are free: `{name}` is in the way{more}",
                self.travel_mm
            ));
        }
        let named: Vec<String> = self.hook_met.iter().map(|name| format!("`{name}`")).collect();
        (!named.is_empty()).then(|| {
            format!("{over}; {} stands in the room of the hook above its hoist point", named.join(", "))
        })
    }
}

/// Whether a body comes in by a straight vertical lift from above at its hoist point: proved over the whole height, as a service
/// point's lift-out is, for the body and for the room of the hook and chain above its point. All bodies but those in `without`
/// stand at rest, the hood open. What the body is joined to it may touch as it does where it is mounted, no closer.
///
/// # Errors
/// Figures out of their range.
pub fn straight_lift(
    scene: &Scene,
    shapes: &Shapes,
    body: &Body,
    without: &[String],
    gap: Length,
    (kg, hoist): (f64, &Hoist),
) -> Result<Lift, AssemblyError> {
    let mut standing = Vec::new();
    for other in &scene.bodies {
        if other.name == body.name || without.contains(&other.name) {
            continue;
        }
        let carrier = &scene.carriers[other.carrier];
        let mut world_from_body = other.world_from_body;
        if carrier.name == "hood" {
            let open: Vec<f64> = carrier.movement.freedoms.iter().map(farthest).collect();
            if open.is_empty() {
                continue;
            }
            world_from_body = carrier.movement.world_from_rest(&open) * world_from_body;
        }
        let (name, shape) = (other.name.clone(), shapes.of_body(other));
        standing.push(StandingBody { name, shape, world_from_body, cover_mm: other.cover.mm() });
    }
    let others = standing.len();
    let mounted = body.world_from_body;
    let top_mm = standing
        .iter()
        .map(|one| one.shape.shape().bounds_in(&one.world_from_body))
        .fold(f64::NEG_INFINITY, |top, bounds| if bounds.is_empty() { top } else { top.max(bounds.max.z) });
    let foot_mm = body.shape.bounds_in(&mounted).min.z;
    // Clear of everything by as much as any way begins outside of it.
    let travel_mm = (top_mm - foot_mm + gap.mm() + 30.0).max(100.0);
    let travel_mm = if travel_mm.is_finite() { travel_mm } else { 100.0 };
    let joined = |name: &str| {
        scene.joined.iter().any(|pair| {
            (pair.one == body.name && pair.other == name) || (pair.other == body.name && pair.one == name)
        })
    };
    let (name, shape) = (body.name.clone(), shapes.of_body(body));
    let mut remarks = Vec::new();
    let mut room_mm = Vec::with_capacity(others);
    for one in &standing {
        let cover_mm = one.cover_mm + body.cover.mm();
        let relative = one.world_from_body.inv_mul(&mounted);
        let asked_mm = gap.mm();
        let there_mm = match gap_under(&one.shape, &shape, &relative, Length::from_mm(asked_mm + cover_mm)) {
            GapUnder::Clear { .. } => asked_mm,
            GapUnder::Under(found) => found.gap.mm() - cover_mm,
        };
        // What is mounted stands near things: nine tenths of what is there are kept.
        if there_mm > 0.0 && there_mm < asked_mm && !joined(&one.name) {
            room_mm.push(0.9 * there_mm);
            remarks.push(format!(
                "`{}` is {there_mm:.1} mm off where it is mounted, so {:.1} mm are kept to it instead of {asked_mm:.1}",
                one.name,
                0.9 * there_mm
            ));
        } else {
            room_mm.push(asked_mm);
        }
    }
    let seats: Vec<usize> = (0..others).filter(|at| joined(&standing[*at].name)).collect();
    standing.push(StandingBody { name, shape, world_from_body: mounted, cover_mm: body.cover.mm() });
    // The room above the point: as wide as the hook wants, as high as the lift; it goes up with the part, and what is above it is the
    // chain's.
    let point = mounted * hoist.at;
    let hook = Shape::Cylinder(Cylinder { radius_mm: hoist.room.mm() / 2.0, length_mm: travel_mm });
    let hook = IndexedShape::new(Arc::new(hook));
    let world_from_hook = Pose::translation(point.x, point.y, point.z + travel_mm / 2.0);
    let mut hook_met = Vec::new();
    for one in &standing[..others] {
        let relative = one.world_from_body.inv_mul(&world_from_hook);
        let limit = Length::from_mm(one.cover_mm);
        if let GapUnder::Under(_) = gap_under(&one.shape, &hook, &relative, limit) {
            hook_met.push(one.name.clone());
        }
    }
    let bodies = Bodies::new(standing)?;
    let lift = lift_out(&LiftOutAsk {
        bodies: &bodies,
        body: others,
        without: &[],
        seats: &seats,
        along: Vector3::z_axis(),
        travel_mm,
        room_mm: &room_mm,
        tolerance_mm: TOLERANCE_MM,
    })?;
    let met = lift.stops.iter().map(|stop| (bodies.list()[stop.body].name.clone(), stop.free_mm)).collect();
    remarks.push(format!(
        "it weighs {kg:.1} kg, so a straight lift by its hoist point is required: hook and chain have {:.0} mm of room above ({:.0}, {:.0}, {:.0}), \
         its own part above that point not looked at. Use lifting gear that is rated for it, keep everybody from under the load; \
         local rules for lifting gear and who may use it come first",
        hoist.room.mm(),
        point.x,
        point.y,
        point.z
    ));
    if !seats.is_empty() {
        let names: Vec<&str> = seats.iter().map(|at| bodies.list()[*at].name.as_str()).collect();
        remarks.push(format!(
            "it may touch what it is joined to as it does when mounted, no closer: {}",
            names.join(", ")
        ));
    }
    let start = Pose::translation(0.0, 0.0, travel_mm) * mounted;
    let middle = Point3::from(body.shape.bounds().center().coords);
    let way = Way {
        poses: vec![start, mounted],
        middle,
        spare: Length::from_mm(0.0),
        effort: Effort { checks: 0, nodes: 0 },
    };
    Ok(Lift { way, kg, travel_mm, free_mm: lift.free_mm, met, hook_met, remarks })
}

/// How closely gaps and heights are wanted, mm.
const TOLERANCE_MM: f64 = 0.01;
