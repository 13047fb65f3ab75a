//! Ways in as something that runs: which body is where at a share of the whole, one body after the other.
//!
//! Leaves to others: how it is drawn (`picture`, `film`, `window`), where a way comes from (`way_in`, or a file of one).

use nalgebra::{Point3, Vector3};

use crate::assembly::hood_open;
use crate::scene::Scene;
use crate::solid::Shape;
use crate::space::Pose;
use crate::way_in::{Move, Way, seat_words};

use super::ViewError;
use super::picture::body_index;

/// A body and its way in.
#[derive(Clone, Debug)]
pub struct BodyWay {
    /// The body's name in the scene.
    pub body: String,
    /// Its way, from outside to the mounted pose.
    pub way: Way,
    /// The last move on to the seat, mm, vehicle axes, which was not looked at.
    pub seat_mm: Option<Vector3<f64>>,
    /// Bodies that are not there meanwhile: taken off first, or mounted later.
    pub away: Vec<String>,
}

/// One move of a way, and its words as the report has them.
#[derive(Clone, Debug)]
pub(super) struct Leg {
    pub step: Move,
    pub words: String,
}

impl BodyWay {
    /// Its moves in order, the one on to the seat the last.
    pub(super) fn legs(&self) -> Vec<Leg> {
        let legs = self.way.moves().into_iter().map(|step| Leg { words: step.words(), step });
        let seat = self.seat_mm.zip(self.way.poses.last()).map(|(seat_mm, from)| Leg {
            step: Move::on_to_seat(*from, &self.way.middle, seat_mm),
            words: seat_words(&seat_mm),
        });
        legs.chain(seat).collect()
    }
}

/// Ways of one or several bodies, one after the other.
///
/// Shares of the whole go by travel: a move lasts as long as the farthest corner of the body's box goes, but no
/// shorter than 40 mm of it.
#[derive(Clone, Debug)]
pub struct Playback {
    parts: Vec<Part>,
    /// Sum of all travels, mm.
    total_mm: f64,
}

#[derive(Clone, Debug)]
struct Part {
    body: usize,
    name: String,
    legs: Vec<Leg>,
    /// One a leg, mm.
    travels_mm: Vec<f64>,
    away: Vec<usize>,
}

/// A move lasts at least as long as this much travel, mm, so that it is seen.
const LEAST_MM: f64 = 40.0;

/// Where all that moves is at one share of the whole.
#[derive(Clone, Debug)]
pub struct Instant {
    /// The body that is on its way.
    pub body: String,
    /// Its move, from 1.
    pub number: usize,
    /// How many moves it has.
    pub of: usize,
    /// The move in words.
    pub words: String,
    /// Bodies by their index in the scene, and where they are: world_from_body; `None` is not there.
    pub places: Vec<(usize, Option<Pose>)>,
    /// Index of the body that is on its way.
    pub moving: usize,
}

impl Instant {
    /// `pump, move 2 of 5`.
    pub fn told(&self) -> String {
        format!("{}, move {} of {}", self.body, self.number, self.of)
    }
}

/// How far the corners of a body's box are from a point of its frame at most, mm.
pub(super) fn reach_mm(shape: &Shape, from: &Point3<f64>) -> f64 {
    let bounds = shape.bounds();
    if bounds.is_empty() {
        return 0.0;
    }
    bounds.corners().iter().map(|corner| (corner - from).norm()).fold(0.0, f64::max)
}

/// How far the farthest corner goes at most in a move, mm.
pub(super) fn travel_mm(step: &Move, reach_mm: f64) -> f64 {
    step.slide_mm.norm() + reach_mm * step.turn_rad.norm()
}

impl Playback {
    /// Of ways in a scene in which every body is where it is mounted.
    ///
    /// # Errors
    /// [`ViewError::UnknownBody`]; [`ViewError::NoWay`] for a way without a move, or where there is none.
    pub fn new(scene: &Scene, ways: &[BodyWay]) -> Result<Self, ViewError> {
        let mut parts = Vec::with_capacity(ways.len());
        for way in ways {
            let body = body_index(scene, &way.body)?;
            let legs = way.legs();
            if legs.is_empty() {
                return Err(ViewError::NoWay { body: way.body.clone() });
            }
            let reach_mm = reach_mm(&scene.bodies[body].shape, &way.way.middle);
            let travels_mm = legs.iter().map(|leg| travel_mm(&leg.step, reach_mm).max(LEAST_MM)).collect();
            let away = way.away.iter().map(|name| body_index(scene, name)).collect::<Result<_, _>>()?;
            parts.push(Part { body, name: way.body.clone(), legs, travels_mm, away });
        }
        let total_mm = parts.iter().flat_map(|part| &part.travels_mm).sum();
        if parts.is_empty() {
            return Err(ViewError::NoWay { body: "anything".to_owned() });
        }
        Ok(Playback { parts, total_mm })
    }

    /// How many moves there are in all.
    pub fn moves(&self) -> usize {
        self.parts.iter().map(|part| part.legs.len()).sum()
    }

    /// Everything at a share of the whole, 0 to 1 (what lies outside counts as the nearer end).
    pub fn at(&self, share: f64) -> Instant {
        let mut left_mm = share.clamp(0.0, 1.0) * self.total_mm;
        let (mut part, mut leg, mut gone) = (0, 0, 0.0);
        'found: for (p, one) in self.parts.iter().enumerate() {
            for (l, travel_mm) in one.travels_mm.iter().enumerate() {
                (part, leg, gone) = (p, l, (left_mm / travel_mm).min(1.0));
                if left_mm <= *travel_mm {
                    break 'found;
                }
                left_mm -= travel_mm;
            }
        }
        let now = &self.parts[part];
        let mut places: Vec<(usize, Option<Pose>)> = now.away.iter().map(|body| (*body, None)).collect();
        places.extend(self.parts[part + 1..].iter().map(|later| (later.body, None)));
        places.retain(|(body, _)| *body != now.body);
        places.sort_unstable_by_key(|(body, _)| *body);
        places.dedup_by_key(|(body, _)| *body);
        places.push((now.body, Some(now.legs[leg].step.at(gone))));
        Instant {
            body: now.name.clone(),
            number: leg + 1,
            of: now.legs.len(),
            words: now.legs[leg].words.clone(),
            places,
            moving: now.body,
        }
    }

    /// The scene as it is at a share of the whole: what is not there left out, the body on its way where it is and at rest
    /// with the chassis. Give [`hood_open`]'s values to what draws it.
    pub fn scene_at(&self, scene: &Scene, share: f64) -> (Scene, Instant) {
        let now = self.at(share);
        let mut seen = scene.clone();
        for (body, place) in &now.places {
            if let Some(pose) = place {
                (seen.bodies[*body].world_from_body, seen.bodies[*body].carrier) = (*pose, 0);
            }
        }
        let gone: Vec<&str> = absent(scene, &now);
        seen.bodies.retain(|body| !gone.contains(&body.name.as_str()));
        (seen, now)
    }
}

/// Names of the bodies that are not there.
fn absent<'a>(scene: &'a Scene, now: &Instant) -> Vec<&'a str> {
    let gone = now.places.iter().filter(|(_, place)| place.is_none());
    let gone = gone.filter_map(|(body, _)| scene.bodies.get(*body)).map(|body| body.name.as_str());
    gone.chain(no_hinge(scene)).collect()
}

/// Bodies on a hood that cannot be opened in the scene: ways in take it to be off.
pub(super) fn no_hinge(scene: &Scene) -> impl Iterator<Item = &str> {
    let opens = !hood_open(scene).is_empty();
    let on_hood = |carrier: usize| scene.carriers.get(carrier).is_some_and(|carrier| carrier.name == "hood");
    scene.bodies.iter().filter(move |body| !opens && on_hood(body.carrier)).map(|body| body.name.as_str())
}
