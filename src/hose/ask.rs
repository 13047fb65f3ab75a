//! What is asked of a hose.

use nalgebra::{Point3, Unit, Vector3};

use super::HoseError;
use super::relaxed::Relaxed;
use super::rod::{Span, least_energy};
use crate::space::Length;

/// An end that holds the hose: a fitting, a spigot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Port {
    /// Where the hose begins.
    pub at: Point3<f64>,
    /// The way that the hose leaves the port.
    pub out: Unit<Vector3<f64>>,
}

/// A clip that holds the hose between its ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clip {
    /// Where it holds the middle of the hose.
    pub at: Point3<f64>,
    /// The way that the hose goes through it, from the first port on.
    pub along: Unit<Vector3<f64>>,
    /// Hose from the first port to it, mm. `None`: what is to spare is shared out by the straight lines between holds.
    pub from_start_mm: Option<f64>,
}

/// A flexible run between two ports.
#[derive(Clone, Debug, PartialEq)]
pub struct Hose {
    /// Where it begins.
    pub from: Port,
    /// Where it ends.
    pub to: Port,
    /// Holds between, in order from `from`.
    pub clips: Vec<Clip>,
    /// Length between the ports, mm.
    pub length_mm: f64,
    /// Outer radius, mm.
    pub radius_mm: f64,
    /// Bending stiffness E I, N mm^2.
    pub stiffness_n_mm2: f64,
    /// Weight a length, what is in it included, N/mm.
    pub weight_n_mm: f64,
    /// Against the weight, in the frame of the ports.
    pub up: Unit<Vector3<f64>>,
}

/// A span as it reaches from hold to hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpanReach {
    /// Hose in it, mm.
    pub length_mm: f64,
    /// Straight way between its holds, mm.
    pub chord_mm: f64,
}

/// Straight pieces that a span is cut into.
pub(super) const PIECES: usize = 48;

impl Hose {
    /// The shape that it takes at rest, every span by itself.
    ///
    /// Where several shapes are at rest, the one of least energy among those that were come to from a handful of starts.
    /// A span is 48 straight pieces: between its nodes and a smooth line of least energy there is about the square of a
    /// piece times the curvature, over eight. Cubic in the pieces, some milliseconds a span.
    ///
    /// # Errors
    /// A span shorter than its holds are apart, a figure that is not above zero, clips out of order.
    pub fn relaxed(&self) -> Result<Relaxed, HoseError> {
        self.relaxed_in(PIECES)
    }

    /// As [`Self::relaxed`], come to from a shape at rest of the same hose with its ends a little elsewhere: how it gives
    /// way. A sixth of the time.
    ///
    /// # Errors
    /// As [`Self::relaxed`].
    pub fn relaxed_from(&self, before: &Relaxed) -> Result<Relaxed, HoseError> {
        self.settled(PIECES, Some(before))
    }

    /// As [`Self::relaxed`], in so many pieces a span (4 at least).
    pub(super) fn relaxed_in(&self, pieces: usize) -> Result<Relaxed, HoseError> {
        self.settled(pieces.max(4), None)
    }

    /// As [`Self::relaxed`], in so many pieces a span, from another shape of as many or from all starts.
    pub(super) fn settled(&self, pieces: usize, before: Option<&Relaxed>) -> Result<Relaxed, HoseError> {
        for (what, value) in [
            ("the length", self.length_mm),
            ("the radius", self.radius_mm),
            ("the stiffness", self.stiffness_n_mm2),
        ] {
            if !(value.is_finite() && value > 0.0) {
                return Err(HoseError::Figure { what });
            }
        }
        if !(self.weight_n_mm.is_finite() && self.weight_n_mm >= 0.0) {
            return Err(HoseError::Figure { what: "the weight" });
        }
        let mut points = vec![self.from.at];
        let mut holds = vec![(0, self.from.out)];
        for (number, span) in self.spans()?.into_iter().enumerate() {
            let nodes_before =
                before.and_then(|before| before.points.get(number * pieces..=(number + 1) * pieces));
            let nodes =
                least_energy(&span, pieces, nodes_before).ok_or(HoseError::NotFound { span: number + 1 })?;
            points.extend_from_slice(&nodes[1..]);
            holds.push((points.len() - 1, span.to.1));
        }
        Ok(Relaxed { points, holds, radius_mm: self.radius_mm, up: self.up })
    }

    /// The same hose with every clip where it holds it now: what is to spare is not shared out anew when an end moves, for a
    /// clip lets nothing slide.
    ///
    /// # Errors
    /// Clips out of order.
    pub fn held(&self) -> Result<Hose, HoseError> {
        let places = self.places(&self.chords())?;
        let mut held = self.clone();
        for (clip, place) in held.clips.iter_mut().zip(&places[1..]) {
            clip.from_start_mm = Some(*place);
        }
        Ok(held)
    }

    /// Hose and straight way of every span, from the first port on: it reaches where it has more hose than way.
    ///
    /// # Errors
    /// Clips out of order.
    pub fn reaches(&self) -> Result<Vec<SpanReach>, HoseError> {
        let chords = self.chords();
        let places = self.places(&chords)?;
        let reach = |(chord_mm, place): (f64, &[f64])| SpanReach { length_mm: place[1] - place[0], chord_mm };
        Ok(chords.into_iter().zip(places.windows(2)).map(reach).collect())
    }

    /// Places that hold it, in order, and the way that it goes through each.
    pub fn holds(&self) -> Vec<(Point3<f64>, Unit<Vector3<f64>>)> {
        std::iter::once((self.from.at, self.from.out))
            .chain(self.clips.iter().map(|clip| (clip.at, clip.along)))
            .chain([(self.to.at, -self.to.out)])
            .collect()
    }

    /// Straight ways from hold to hold, mm.
    fn chords(&self) -> Vec<f64> {
        self.holds().windows(2).map(|pair| (pair[1].0 - pair[0].0).norm()).collect()
    }

    /// From hold to hold.
    fn spans(&self) -> Result<Vec<Span>, HoseError> {
        let holds = self.holds();
        let chords = self.chords();
        let places = self.places(&chords)?;
        let mut spans = Vec::new();
        for (number, (pair, place)) in holds.windows(2).zip(places.windows(2)).enumerate() {
            let (length_mm, chord_mm) = (place[1] - place[0], chords[number]);
            if length_mm <= chord_mm {
                return Err(HoseError::TooShort {
                    span: number + 1,
                    length: Length::from_mm(length_mm),
                    chord: Length::from_mm(chord_mm),
                });
            }
            spans.push(Span {
                from: pair[0],
                to: pair[1],
                length_mm,
                stiffness_n_mm2: self.stiffness_n_mm2,
                weight_n_mm: self.weight_n_mm,
                up: self.up.into_inner(),
            });
        }
        Ok(spans)
    }

    /// Where the holds lie along the hose, mm, the ports included.
    fn places(&self, chords: &[f64]) -> Result<Vec<f64>, HoseError> {
        let given: Vec<Option<f64>> = std::iter::once(Some(0.0))
            .chain(self.clips.iter().map(|clip| clip.from_start_mm))
            .chain([Some(self.length_mm)])
            .collect();
        let mut places = vec![0.0; given.len()];
        let mut last = 0;
        for (hold, at) in given.iter().enumerate().skip(1) {
            let Some(at) = *at else { continue };
            if !(at.is_finite() && at > places[last]) || at > self.length_mm {
                // The far port itself lies where it does: what does not fit is the clip before it.
                let (clip, at) = if hold + 1 == given.len() { (last, places[last]) } else { (hold, at) };
                return Err(HoseError::ClipOrder { clip, at: Length::from_mm(at) });
            }
            // What lies between two known holds is shared out by the straight lines.
            let all: f64 = chords[last..hold].iter().sum();
            let mut come = 0.0;
            for between in last + 1..hold {
                come += chords[between - 1];
                let share =
                    if all > 0.0 { come / all } else { (between - last) as f64 / (hold - last) as f64 };
                places[between] = places[last] + (at - places[last]) * share;
            }
            places[hold] = at;
            last = hold;
        }
        Ok(places)
    }
}

/// Bending stiffness E I, N mm^2, of a hose that was clamped level and let droop: `free_mm` of it hung out and its end
/// sank by `drop_mm`.
///
/// The end of a level cantilever of even weight w sinks by w l^4 / (8 E I) (any text on the strength of materials); right
/// for drops that are small against the length: at a fifth of it the error is some percent.
///
/// # Errors
/// A figure that is not above zero.
pub fn stiffness_from_droop(weight_n_mm: f64, free_mm: f64, drop_mm: f64) -> Result<f64, HoseError> {
    for (what, value) in [("the weight", weight_n_mm), ("the free length", free_mm), ("the drop", drop_mm)] {
        if !(value.is_finite() && value > 0.0) {
            return Err(HoseError::Figure { what });
        }
    }
    Ok(weight_n_mm * free_mm.powi(4) / (8.0 * drop_mm))
}
