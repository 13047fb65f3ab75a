//! One pair of bodies: its least gap over all movement, covers on, with its uncertainty.

use std::collections::HashMap;
use std::sync::Arc;

use nalgebra::{Point3, Unit, Vector3};

use crate::clearance::IndexedShape;
use crate::motion::{Freedom, GapOver, GapOverUnder, Movement, Rider, gap_over, gap_over_under};
use crate::scene::{Body, Scene};
use crate::solid::Shape;
use crate::space::{Angle, Bounds, Length};

use super::growth::growth_of;
use super::hoses::{Sway, sway_of};
use super::uncertainty::{Side, expanded, variance_between, worst_standard, worst_together};
use super::{Place, Verdict, decide};

/// Width of the proved interval that every gap is narrowed to.
pub const GAP_TOLERANCE: Length = Length::from_mm(0.01);

/// Over which poses a gap is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Poses {
    /// Carriers at rest.
    Rest,
    /// Every pose of every carrier.
    Movement,
}

/// The least gap of a pair, covers on; from `Pair::examine` that of the place which decides, where another place than the
/// nearest is known so much worse that it does (`places.rs`).
#[derive(Clone, Debug, PartialEq)]
pub struct PairGap {
    /// Proved: no pose has less there. How a hose gives way between the poses that were looked at is an estimate in it.
    pub lower: Length,
    /// Found at the worst pose; within [`GAP_TOLERANCE`] of `lower` when `settled`.
    pub upper: Length,
    /// Expanded uncertainty U (k = 2) of the gap at the worst place.
    pub uncertainty: Length,
    /// The worst place.
    pub place: Place,
    /// From the first body to the second at the worst place: the way to push the second.
    pub normal: Unit<Vector3<f64>>,
    /// False when the search budget ran out before the interval was narrow; the bounds still hold.
    pub settled: bool,
}

impl PairGap {
    /// The verdict against a least gap.
    pub fn verdict(&self, least: Length) -> Verdict {
        decide(self.lower, self.upper, self.uncertainty, least)
    }
}

/// What is known of a pair against a limit.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Examined {
    /// Proved clear even when the measurements are off by U.
    Clear,
    /// Near enough that the gap itself was needed.
    Near(Box<PairGap>),
}

/// Trees over shapes, built once a shape however often its bodies move.
#[derive(Clone, Debug, Default)]
pub struct ShapeStore {
    by_address: HashMap<usize, IndexedShape>,
}

impl ShapeStore {
    /// The tree of a shape; built when first asked for.
    pub fn indexed(&mut self, shape: &Arc<Shape>) -> IndexedShape {
        // The tree holds its own Arc, so the address cannot be taken by another shape meanwhile.
        let address = Arc::as_ptr(shape) as usize;
        self.by_address.entry(address).or_insert_with(|| IndexedShape::new(Arc::clone(shape))).clone()
    }
}

/// A body made ready for questions.
pub(super) struct Ready<'a> {
    pub body: &'a Body,
    pub shape: IndexedShape,
    /// How far it reaches beyond where it is drawn when it is hot.
    pub growth: Length,
    /// How far it may lie off its shape to any side: counts in what is proved, not in what is found.
    pub off: Length,
    /// How it gives way, when it is a hose.
    pub sway: Option<Arc<Sway>>,
    /// World bounds at rest, with all that it may reach beyond.
    pub at_rest: Bounds,
    /// World bounds over the whole movement, with all that it may reach beyond.
    pub swept: Bounds,
    /// Upper bound on the body's share of any gap's standard uncertainty, mm.
    pub worst_standard_mm: f64,
}

impl<'a> Ready<'a> {
    pub fn new(scene: &Scene, body: &'a Body, store: &mut ShapeStore, poses: Poses) -> Self {
        let shape = store.indexed(&body.shape);
        let at_rest = shape.bounds().moved(&body.world_from_body);
        let swept = match poses {
            Poses::Rest => at_rest,
            Poses::Movement => scene.carriers[body.carrier].movement.swept(&at_rest),
        };
        let (growth, sway) = match poses {
            Poses::Rest => (Length::ZERO, None),
            Poses::Movement => (growth_of(body), sway_of(scene, body)),
        };
        let off = Length::from_mm(sway.as_ref().map_or(0.0, |sway| sway.most_mm));
        let reach = (body.cover + growth + off).mm();
        Ready {
            body,
            shape,
            growth,
            off,
            sway: sway.map(Arc::new),
            at_rest: at_rest.grown(reach),
            swept: swept.grown(reach),
            worst_standard_mm: worst_standard(body, &at_rest),
        }
    }
}

impl Ready<'_> {
    /// Upper bound on the standard uncertainty of any gap to another body, mm.
    pub fn worst_standard_with(&self, other: &Self) -> f64 {
        worst_together(
            (&self.body.placement, self.worst_standard_mm),
            (&other.body.placement, other.worst_standard_mm),
        )
    }

    /// Cover and growth: how far its surface lies beyond its shape.
    pub fn reach(&self) -> Length {
        self.body.cover + self.growth
    }

    /// Whether the boxes alone prove a pair clear of `least` by its uncertainty. Strictly: boxes that overlap have a
    /// gap of 0, which is no proof of anything.
    pub fn told_apart(&self, other: &Self, least: Length) -> bool {
        let worst = self.worst_standard_with(other);
        let need = least + Length::from_mm(super::uncertainty::COVERAGE * worst);
        // What one carrier holds stays as far from each other as at rest.
        let apart_mm = if self.body.carrier == other.body.carrier {
            self.at_rest.gap_mm(&other.at_rest)
        } else {
            self.swept.gap_mm(&other.swept)
        };
        apart_mm > need.mm()
    }
}

/// The question about a pair, with everything that its answer depends on.
pub(super) struct Pair<'a> {
    pub scene: &'a Scene,
    pub first: &'a Ready<'a>,
    pub second: &'a Ready<'a>,
    pub poses: Poses,
    /// The movements of the first and the second, where they are not the carriers' own: of part of the poses.
    pub within: Option<Arc<[Movement; 2]>>,
}

impl Pair<'_> {
    /// Whether the pair is clear of `least` by its uncertainty; if that is not certain, its gap.
    pub fn examine(&self, least: Length) -> Examined {
        let covers = self.first.reach() + self.second.reach();
        let worst = self.first.worst_standard_with(self.second);
        let need = least + Length::from_mm(super::uncertainty::COVERAGE * worst);
        if self.first.told_apart(self.second, least) {
            return Examined::Clear;
        }
        if let Some(examined) = self.examine_giving_way(least) {
            return examined;
        }
        // A hair over the limit, so that a gap that meets it exactly is measured, not argued about.
        let limit = need + covers + self.first.off + self.second.off + GAP_TOLERANCE * 2.0;
        let (fixed, moving) = self.movements();
        match gap_over_under(
            &self.rider(self.first, &fixed),
            &self.rider(self.second, &moving),
            limit,
            GAP_TOLERANCE,
        ) {
            GapOverUnder::Clear { .. } => Examined::Clear,
            GapOverUnder::Under(over) => {
                let nearest = self.told(&over);
                if nearest.verdict(least) != Verdict::Clear {
                    return Examined::Near(Box::new(nearest));
                }
                let elsewhere = self.elsewhere(&nearest, least, &(fixed, moving));
                Examined::Near(Box::new(elsewhere.unwrap_or(nearest)))
            }
        }
    }

    /// The gap, however great.
    pub fn gap(&self) -> PairGap {
        if let Some(gap) = self.gap_giving_way() {
            return gap;
        }
        let (fixed, moving) = self.movements();
        self.told(&gap_over(
            &self.rider(self.first, &fixed),
            &self.rider(self.second, &moving),
            GAP_TOLERANCE,
        ))
    }

    /// Two bodies of one carrier do not move against each other.
    fn movements(&self) -> (Movement, Movement) {
        if let Some(within) = &self.within {
            return (within[0].clone(), within[1].clone());
        }
        let (first, second) = (self.first.body.carrier, self.second.body.carrier);
        if self.poses == Poses::Rest || first == second {
            (Movement::still(), Movement::still())
        } else {
            (self.scene.carriers[first].movement.clone(), self.scene.carriers[second].movement.clone())
        }
    }

    fn rider<'r>(&self, ready: &'r Ready<'_>, movement: &'r Movement) -> Rider<'r> {
        Rider { shape: &ready.shape, world_from_solid: &ready.body.world_from_body, movement }
    }

    pub(super) fn told(&self, over: &GapOver) -> PairGap {
        let covers = self.first.reach() + self.second.reach();
        let witness = &over.upper.witness;
        let (first, second) = (self.first.body, self.second.body);
        let pose_of =
            |body: &Body, values: &[f64]| self.scene.carriers[body.carrier].movement.world_from_rest(values);
        let variance = variance_between(
            &Side {
                placement: &first.placement,
                world_from_rest: pose_of(first, &over.fixed_values),
                point: witness.on_fixed,
            },
            &Side {
                placement: &second.placement,
                world_from_rest: pose_of(second, &over.moving_values),
                point: witness.on_moving,
            },
            &witness.normal,
        );
        let mut values = Vec::new();
        for (body, at) in [(first, &over.fixed_values), (second, &over.moving_values)] {
            if !at.is_empty() {
                values.push((self.scene.carriers[body.carrier].name.clone(), at.clone()));
            }
        }
        let on_cover = |point: Point3<f64>, by: Length| point + witness.normal.into_inner() * by.mm();
        PairGap {
            lower: over.lower - covers - self.first.off - self.second.off,
            upper: over.upper.gap - covers,
            uncertainty: expanded(variance),
            place: Place {
                on_first: on_cover(witness.on_fixed, first.cover),
                on_second: on_cover(witness.on_moving, -second.cover),
                pose: pose_words(self.scene, &values),
                values,
            },
            normal: witness.normal,
            settled: over.settled,
        }
    }
}

/// The pose of carriers in words: `engine rock +3.0 deg, bounce -4.0 mm`; `at rest` when nothing moves.
pub fn pose_words(scene: &Scene, values: &[(String, Vec<f64>)]) -> String {
    let mut said = Vec::new();
    for (name, at) in values {
        let Some(carrier) = scene.carriers.iter().find(|carrier| carrier.name == *name) else { continue };
        let mut moved = Vec::new();
        for ((freedom, word), value) in carrier.movement.freedoms.iter().zip(&carrier.freedom_words).zip(at) {
            let (size, text) = match freedom {
                Freedom::Turn { .. } => {
                    let angle = Angle::from_rad(*value);
                    (angle.deg(), format!("{word} {:+.1} deg", angle.deg()))
                }
                Freedom::Slide { .. } => (*value, format!("{word} {value:+.1} mm")),
            };
            if size.abs() >= 0.05 {
                moved.push(text);
            }
        }
        if !moved.is_empty() {
            said.push(format!("{name} {}", moved.join(", ")));
        }
    }
    if said.is_empty() { "at rest".to_owned() } else { said.join("; ") }
}
