//! One part of a service: a way in, an arm's length, room about a cap, a tool's swing.

use nalgebra::Point3;

use crate::check::{Figure, FigureUnit, Shown, Verdict};
use crate::space::Length;

/// One part of a service, judged.
pub(super) struct Part {
    pub figure: Figure,
    pub place: Option<Point3<f64>>,
    pub said: String,
    pub shown: Option<Shown>,
}

impl Part {
    /// A part that is judged by a length.
    pub fn length(
        what: &'static str,
        verdict: Verdict,
        required: Option<Length>,
        actual: Option<(Length, Length)>,
        said: String,
    ) -> Self {
        let figure = Figure {
            what,
            unit: FigureUnit::Mm,
            required: required.map(Length::mm),
            actual: actual.map(|(actual, _)| actual.mm()),
            at_least: false,
            uncertainty: actual.map(|(_, uncertainty)| uncertainty.mm()),
            verdict,
        };
        Part { figure, place: None, said, shown: None }
    }

    /// A part of which the least, the likely and the greatest figure are known.
    pub fn spread(what: &'static str, unit: FigureUnit, spread: Spread, required: f64, said: String) -> Self {
        let figure = Figure {
            what,
            unit,
            required: Some(required),
            actual: Some(spread.nominal),
            at_least: false,
            uncertainty: Some((spread.nominal - spread.sure).max(spread.may - spread.nominal).max(0.0)),
            verdict: spread.verdict(required),
        };
        Part { figure, place: None, said, shown: None }
    }

    pub fn at(mut self, place: Option<Point3<f64>>) -> Self {
        self.place = place;
        self
    }

    pub fn showing(mut self, shown: Option<Shown>) -> Self {
        self.shown = shown;
        self
    }

    pub fn verdict(&self) -> Verdict {
        self.figure.verdict
    }
}

/// A figure when all bodies stand as ill as their uncertainty allows, as they are said to, and as well.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spread {
    pub sure: f64,
    pub nominal: f64,
    pub may: f64,
}

impl Spread {
    /// Clear when even the least will do, short when not even the greatest does.
    pub fn verdict(&self, required: f64) -> Verdict {
        const ROUNDING: f64 = 1e-9;
        if self.sure + ROUNDING >= required {
            Verdict::Clear
        } else if self.may + ROUNDING < required {
            Verdict::Short
        } else {
            Verdict::Undecided
        }
    }
}
