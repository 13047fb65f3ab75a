//! One measured figure of a finding: what, in which unit, how much and how much was asked for.

use serde::Serialize;

use super::Verdict;

/// What a figure is in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum FigureUnit {
    /// Millimetres.
    #[serde(rename = "mm")]
    Mm,
    /// Degrees.
    #[serde(rename = "deg")]
    Deg,
    /// Hundredths.
    #[serde(rename = "%")]
    Percent,
}

impl FigureUnit {
    /// The sign behind the figure.
    pub const fn word(self) -> &'static str {
        match self {
            FigureUnit::Mm => "mm",
            FigureUnit::Deg => "deg",
            FigureUnit::Percent => "%",
        }
    }
}

/// A figure that a service point was judged by; more is better for all of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// What: `corridor`, `room`, `swing`, `sight`, `travel`, `arm`.
    pub what: &'static str,
    /// In which unit.
    pub unit: FigureUnit,
    /// Least that is asked for; `None` where nothing is asked of the figure itself.
    pub required: Option<f64>,
    /// What was found; `None` where it is not known.
    pub actual: Option<f64>,
    /// Whether `actual` is a lower bound: nothing beyond it was told apart.
    pub at_least: bool,
    /// Expanded uncertainty (k = 2) in the same unit.
    pub uncertainty: Option<f64>,
    /// Its verdict.
    pub verdict: Verdict,
}

impl Figure {
    /// The figure as text: `at least 125.0 mm`, `84 deg`; `-` when it is not known.
    pub fn text(&self) -> String {
        let Some(actual) = self.actual else { return "-".to_owned() };
        // A figure that rounds to zero has no sign.
        let tidy = if actual.abs() < 0.05 { 0.0 } else { actual };
        format!("{}{tidy:.1} {}", if self.at_least { ">= " } else { "" }, self.unit.word())
    }

    /// How much more or less it is than another of its kind; `None` where one is not known or both are mere bounds.
    pub fn delta(&self, before: &Figure) -> Option<f64> {
        match (self.actual, before.actual) {
            (Some(now), Some(then)) if !(self.at_least && before.at_least) => Some(now - then),
            _ => None,
        }
    }
}
