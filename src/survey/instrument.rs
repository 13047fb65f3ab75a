//! Measuring instruments: how far a reading by one is to be trusted, and what must be added to it.

use super::network::How;

/// A measuring instrument with its usual uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct Instrument {
    /// Name, as surveys and rows give it.
    pub name: String,
    /// Standard uncertainty of one reading (one sigma), mm.
    pub sigma_mm: f64,
    /// What a metre of length adds to that, in squares, mm.
    pub per_metre_mm: f64,
    /// Added to a length read along it, mm: a hook's thickness; below zero for a piece that was not used.
    pub hook_mm: f64,
    /// Thickness of a tape wrapped round something, mm.
    pub thickness_mm: f64,
}

impl Instrument {
    /// Standard uncertainty of a reading of a length, mm: root of the sum of squares of the fixed part and of the part a metre.
    ///
    /// Errors of a whole tape (its scale) do not scatter from reading to reading; they are counted here as if they did.
    ///
    /// # Source
    /// Independent parts add in squares: JCGM 100:2008, 5.1.2.
    ///
    /// # Example
    /// 3 mm and 2 mm a metre at 2 m: hypot(3, 4) = 5 mm.
    /// ```
    /// # extern crate baywright_lower as baywright;
    /// use baywright::survey::Instrument;
    /// let name = "ours".to_owned();
    /// let ours = Instrument { name, sigma_mm: 3.0, per_metre_mm: 2.0, hook_mm: 0.0, thickness_mm: 0.0 };
    /// assert_eq!(ours.sigma_of_mm(-2000.0), 5.0);
    /// ```
    pub fn sigma_of_mm(&self, length_mm: f64) -> f64 {
        self.sigma_mm.hypot(self.per_metre_mm * length_mm.abs() / 1000.0)
    }

    /// What is added to a reading of that kind, mm: the hook lies at the end of what is read along the tape, not round
    /// or across a thing.
    pub fn hook_of_mm(&self, how: &How) -> f64 {
        match how {
            How::Diameter | How::Wrap { .. } | How::Plumb { .. } | How::Level { .. } => 0.0,
            _ => self.hook_mm,
        }
    }
}
