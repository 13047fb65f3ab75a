//! How two surfaces are brought together.

use super::super::AlignError;

/// How two surfaces are brought together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurfaceOptions {
    /// How far a place may lie from where it belongs at the start, mm: 15 degrees at 700 mm and 100 mm make about 300.
    pub reach_mm: f64,
    /// Share of the moving scan that must find a surface beside it at the end, 0 to 1.
    pub least_overlap: f64,
    /// Least share of a direction, 0 to 1 (see [`super::Direction6`]); below it the answer is refused.
    pub least_share: f64,
    /// Steps on each level after which the search goes on as it is.
    pub most_steps: usize,
}

impl Default for SurfaceOptions {
    fn default() -> Self {
        SurfaceOptions { reach_mm: 300.0, least_overlap: 0.1, least_share: 0.002, most_steps: 40 }
    }
}

impl SurfaceOptions {
    pub(super) fn check(&self) -> Result<(), AlignError> {
        let bad = |what: String| {
            Err(AlignError::Degenerate { what, cure: "give a number above zero, shares up to 1".to_owned() })
        };
        if !(self.reach_mm.is_finite() && self.reach_mm > 0.0) {
            return bad(format!("the reach is {} mm", self.reach_mm));
        }
        if !(self.least_overlap > 0.0 && self.least_overlap <= 1.0) {
            return bad(format!("the least overlap is {}", self.least_overlap));
        }
        if !(self.least_share > 0.0 && self.least_share <= 1.0) {
            return bad(format!("the least share of a direction is {}", self.least_share));
        }
        Ok(())
    }
}
