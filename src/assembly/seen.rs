//! From a scene to the question of a way in: who stands in the way, where outside is, and how the body leaves its seat.

use std::collections::BTreeMap;
use std::sync::Arc;

use nalgebra::{Point3, Unit, Vector3};

use crate::clearance::{GapUnder, IndexedShape, gap, gap_under, touches};
use crate::motion::Freedom;
use crate::scene::{Body, Carrier, Scene};
use crate::space::{Bounds, Length, Pose};
use crate::way_in::{Answer, Impossible, Obstacle};

/// A side of the vehicle to come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// From above, the hood open.
    Above,
    /// From below.
    Below,
    /// From the front.
    Front,
    /// From the left of the vehicle.
    Left,
    /// From the right of the vehicle.
    Right,
}

impl Side {
    /// From the bay toward the side, vehicle axes.
    fn outward(self) -> Vector3<f64> {
        match self {
            Side::Above => Vector3::z(),
            Side::Below => -Vector3::z(),
            Side::Front => -Vector3::x(),
            Side::Left => -Vector3::y(),
            Side::Right => Vector3::y(),
        }
    }
}

impl Side {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Side::Above => "above",
            Side::Below => "below",
            Side::Front => "front",
            Side::Left => "left",
            Side::Right => "right",
        }
    }

    /// The side that a word names.
    pub fn from_word(word: &str) -> Option<Self> {
        [Side::Above, Side::Below, Side::Front, Side::Left, Side::Right]
            .into_iter()
            .find(|side| side.word() == word)
    }
}

/// The trees of a scene's bodies, each built once.
#[derive(Clone, Debug, Default)]
pub struct Shapes(BTreeMap<String, IndexedShape>);

impl Shapes {
    /// Of all bodies of a scene.
    pub fn of(scene: &Scene) -> Self {
        let mut shapes = Shapes::default();
        shapes.add(scene);
        shapes
    }

    /// Builds the trees of bodies that are new or have another shape.
    pub fn add(&mut self, scene: &Scene) {
        for body in &scene.bodies {
            let known = self.0.get(&body.name).is_some_and(|known| Arc::ptr_eq(known.shape(), &body.shape));
            if !known {
                self.0.insert(body.name.clone(), IndexedShape::new(body.shape.clone()));
            }
        }
    }

    /// The tree of a body.
    pub fn of_body(&self, body: &Body) -> IndexedShape {
        match self.0.get(&body.name) {
            Some(known) if Arc::ptr_eq(known.shape(), &body.shape) => known.clone(),
            _ => IndexedShape::new(body.shape.clone()),
        }
    }
}

/// A scene seen by one of its bodies.
#[derive(Clone, Debug)]
pub struct Seen {
    /// The body that moves.
    pub body: IndexedShape,
    /// What stands in its way.
    pub obstacles: Vec<Obstacle>,
    /// Names of the obstacles, in the same order.
    pub names: Vec<String>,
    /// The mounted pose, or where the body stands clear of what it is fastened to.
    pub goal: Pose,
    /// The last move, from there on to what it is fastened to, mm; not looked at.
    pub seat_mm: Option<Vector3<f64>>,
    /// What a person must know about how the question was put.
    pub remarks: Vec<String>,
    /// An obstacle that the body touches or overlaps at the goal: then there is no way, and this is why.
    pub blocked_by: Option<usize>,
}

impl Seen {
    /// All bodies but the body itself and those named stand in its way, the hood open, covers on.
    pub fn by(scene: &Scene, shapes: &Shapes, body: &Body, without: &[String], room: Length) -> Self {
        let mut seen = Seen {
            body: shapes.of_body(body),
            obstacles: Vec::new(),
            names: Vec::new(),
            goal: body.world_from_body,
            seat_mm: None,
            remarks: Vec::new(),
            blocked_by: None,
        };
        let mut opened = Vec::new();
        for other in &scene.bodies {
            if other.name == body.name || without.contains(&other.name) {
                continue;
            }
            let carrier = &scene.carriers[other.carrier];
            let mut world_from_obstacle = other.world_from_body;
            if carrier.name == "hood" {
                opened.push(other.name.as_str());
                let open = opened_wide(carrier);
                if open.is_empty() {
                    continue;
                }
                world_from_obstacle = carrier.movement.world_from_rest(&open) * world_from_obstacle;
            }
            seen.obstacles.push(Obstacle {
                shape: shapes.of_body(other),
                world_from_obstacle,
                room: Length::from_mm(room.mm() + other.cover.mm() + body.cover.mm()),
            });
            seen.names.push(other.name.clone());
        }
        if !opened.is_empty() {
            seen.remarks.push(format!("the hood stands open: {}", opened.join(", ")));
        }
        seen.leave_seat(scene, body);
        seen
    }

    /// The gap to an obstacle at a pose, mm, when under what is of interest; infinite else. How deep bodies overlap is of
    /// no interest here, and takes long to tell: 0 then.
    fn gap_to(&self, obstacle: &Obstacle, pose: &Pose) -> f64 {
        const OF_INTEREST_MM: f64 = 20.0;
        let relative = obstacle.world_from_obstacle.inverse() * pose;
        if touches(&obstacle.shape, &self.body, &relative) {
            return 0.0;
        }
        let limit = Length::from_mm(obstacle.room.mm().max(OF_INTEREST_MM));
        match gap_under(&obstacle.shape, &self.body, &relative, limit) {
            GapUnder::Under(found) => found.gap.mm(),
            GapUnder::Clear { .. } => f64::INFINITY,
        }
    }

    /// The answer where the goal itself is not free.
    pub fn blocked(&self) -> Option<Answer> {
        let gap = Length::from_mm(0.0);
        self.blocked_by.map(|by| Answer::Impossible(Impossible::GoalNotFree { by, gap }))
    }

    fn gaps(&self, pose: &Pose) -> Vec<f64> {
        self.obstacles.iter().map(|obstacle| self.gap_to(obstacle, pose)).collect()
    }

    /// The gaps at a pose, if all are over a least one.
    fn gaps_over(&self, pose: &Pose, least_mm: f64) -> Option<Vec<f64>> {
        let over = |obstacle| Some(self.gap_to(obstacle, pose)).filter(|gap_mm| *gap_mm > least_mm);
        self.obstacles.iter().map(over).collect()
    }

    /// Where the body stands nearer to something than the room asked for, as what is mounted must, that room is what
    /// it has there; where it sits on what it is fastened to, the way ends a little off it.
    fn leave_seat(&mut self, scene: &Scene, body: &Body) {
        let fastened = |name: &str| {
            scene.joined.iter().any(|joined| {
                (joined.one == body.name && joined.other == name)
                    || (joined.other == body.name && joined.one == name)
            })
        };
        let gaps = self.gaps(&self.goal);
        let seats: Vec<usize> =
            (0..gaps.len()).filter(|at| gaps[*at] <= 0.05 && fastened(&self.names[*at])).collect();
        let blocked = (0..gaps.len()).any(|at| gaps[at] <= 0.0 && !seats.contains(&at));
        let mut at_goal = gaps;
        let off = (!seats.is_empty() && !blocked).then(|| self.off_seat());
        if let Some(None) = off {
            // Held on both sides: no shift frees it from both, but it may still slide between them.
            at_goal = self.set_back(&seats);
        }
        if let Some(Some((off, gaps))) = off {
            self.goal = Pose::translation(off.x, off.y, off.z) * self.goal;
            self.seat_mm = Some(-off);
            at_goal = gaps;
            let names: Vec<&str> = seats.iter().map(|at| self.names[*at].as_str()).collect();
            self.remarks.push(format!(
                "the last {:.0} mm on to {} are not looked at: it sits there",
                off.norm(),
                names.join(" and ")
            ));
        }
        self.blocked_by = at_goal.iter().position(|gap_mm| *gap_mm <= 0.0);
        for (at, gap_mm) in at_goal.into_iter().enumerate() {
            let asked_mm = self.obstacles[at].room.mm();
            if gap_mm > 0.0 && gap_mm <= asked_mm {
                let kept_mm = 0.9 * gap_mm;
                self.obstacles[at].room = Length::from_mm(kept_mm);
                self.remarks.push(format!(
                    "`{}` is {gap_mm:.1} mm off where the way ends, so {kept_mm:.1} mm are kept to it instead of {asked_mm:.1}",
                    self.names[at]
                ));
            }
        }
    }

    /// Sets back what the body sits flush on by a little, so that sliding along it can be looked at; the gaps then.
    fn set_back(&mut self, seats: &[usize]) -> Vec<f64> {
        for &at in seats {
            let obstacle = &self.obstacles[at];
            let relative = obstacle.world_from_obstacle.inverse() * self.goal;
            let found = gap(&obstacle.shape, &self.body, &relative);
            // What overlaps by more than a fit-up does is no seat.
            if found.gap.mm() < -SET_BACK_MM {
                continue;
            }
            let away = obstacle.world_from_obstacle * found.witness.normal.into_inner();
            let off = away * (found.gap.mm().min(0.0) - SET_BACK_MM);
            let obstacle = &mut self.obstacles[at];
            obstacle.world_from_obstacle =
                Pose::translation(off.x, off.y, off.z) * obstacle.world_from_obstacle;
            self.remarks.push(format!(
                "it sits flush between what it is fastened to: `{}` is looked at as if it stood {SET_BACK_MM} mm farther off",
                self.names[at]
            ));
        }
        self.gaps(&self.goal)
    }

    /// The least shift found that frees the body from all, and the gaps there.
    fn off_seat(&self) -> Option<(Vector3<f64>, Vec<f64>)> {
        for far_mm in [1.0, 2.0, 4.0, 8.0, 16.0] {
            let mut best: Option<(f64, Vector3<f64>, Vec<f64>)> = None;
            for i in 0..27 {
                let toward =
                    Vector3::new(f64::from(i % 3 - 1), f64::from(i / 3 % 3 - 1), f64::from(i / 9 - 1));
                let Some(toward) = Unit::try_new(toward, 0.5) else { continue };
                let off = toward.into_inner() * far_mm;
                let pose = Pose::translation(off.x, off.y, off.z) * self.goal;
                let Some(gaps) = self.gaps_over(&pose, 0.3 * far_mm) else { continue };
                let least = gaps.iter().copied().fold(f64::INFINITY, f64::min);
                if best.as_ref().is_none_or(|(most, ..)| least > *most) {
                    best = Some((least, off, gaps));
                }
            }
            if let Some((_, off, gaps)) = best {
                return Some((off, gaps));
            }
        }
        None
    }

    /// A pose outside all, straight out from the mounted pose toward a side.
    pub fn outside(&self, side: Side) -> Pose {
        let outward = side.outward();
        let reach = |bounds: &Bounds, toward: &Vector3<f64>| {
            bounds.corners().iter().map(|corner| corner.coords.dot(toward)).fold(f64::NEG_INFINITY, f64::max)
        };
        let body = self.body.shape().bounds_in(&self.goal);
        let bay = self.bay();
        let far_mm =
            if bay.is_empty() { 100.0 } else { reach(&bay, &outward) + reach(&body, &-outward) + 20.0 };
        let off = outward * far_mm.max(0.0);
        Pose::translation(off.x, off.y, off.z) * self.goal
    }

    /// The box about all obstacles, room and 10 mm more included.
    fn bay(&self) -> Bounds {
        self.obstacles.iter().fold(Bounds::EMPTY, |all, obstacle| {
            let bounds = obstacle.shape.shape().bounds_in(&obstacle.world_from_obstacle);
            if bounds.is_empty() { all } else { all.union(&bounds.grown(obstacle.room.mm() + 10.0)) }
        })
    }

    /// Where the body's frame may be: about the bay, and as far out as the body is large.
    pub fn room(&self, starts: &[Pose]) -> Bounds {
        let size_mm = self.body.shape().bounds().diagonal_mm();
        let at = |pose: &Pose| Point3::from(pose.translation.vector);
        let ends: Vec<Point3<f64>> = starts.iter().chain([&self.goal]).map(at).collect();
        let near = Bounds::of_points(&ends).grown(size_mm);
        let bay = self.bay();
        // Beside the bay there must be room to go round what is at its edge, for something small too.
        let wide = if bay.is_empty() { near } else { bay.grown((0.5 * size_mm).max(BESIDE_MM)) };
        // A scan of the whole garage is no reason to look for ways through all of it.
        let least = near.grown((2.0 * size_mm).max(2.0 * BESIDE_MM));
        Bounds { min: wide.min.sup(&least.min), max: wide.max.inf(&least.max) }.union(&near)
    }
}

/// How far that is set back which a body sits flush on, mm.
const SET_BACK_MM: f64 = 0.1;

/// Room beside the bay at least, mm.
const BESIDE_MM: f64 = 300.0;

/// How the hood stands while parts are worked in: the carrier's name, and the values (radians or mm) of its freedoms at their ends
/// farther from rest. Empty where the scene has no hood that moves.
pub fn hood_open(scene: &Scene) -> Vec<(String, Vec<f64>)> {
    let hoods = scene.carriers.iter().filter(|carrier| carrier.name == "hood");
    hoods.map(|hood| (hood.name.clone(), opened_wide(hood))).filter(|(_, open)| !open.is_empty()).collect()
}

fn opened_wide(carrier: &Carrier) -> Vec<f64> {
    carrier.movement.freedoms.iter().map(farthest).collect()
}

/// The end of a freedom that is farther from rest.
pub(super) fn farthest(freedom: &Freedom) -> f64 {
    let (low, high) = freedom.range();
    if low.abs() > high.abs() { low } else { high }
}
