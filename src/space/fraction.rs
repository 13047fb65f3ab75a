//! Lengths written as a rule is marked: whole inches and a fraction.

use super::Length;

/// The divisions of an inch on a steel rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum InchFraction {
    /// Sixteenths.
    Sixteenth,
    /// Thirty-seconds.
    ThirtySecond,
}

impl InchFraction {
    /// How many to an inch.
    pub const fn parts(self) -> u32 {
        match self {
            InchFraction::Sixteenth => 16,
            InchFraction::ThirtySecond => 32,
        }
    }
}

impl Length {
    /// The nearest division of an inch, in lowest terms: `3 3/16 in`, `-1/2 in`, `0 in`. Halves round away from zero,
    /// so that it is at most half a division off: 0.79 mm by sixteenths, 0.40 mm by thirty-seconds.
    ///
    /// # Example
    /// ```
    /// # extern crate baywright_lower as baywright;
    /// use baywright::space::{InchFraction, Length};
    /// assert_eq!(Length::from_mm(80.9625).in_fractions(InchFraction::Sixteenth), "3 3/16 in"); // 3.1875 in
    /// assert_eq!(Length::from_mm(-12.7).in_fractions(InchFraction::ThirtySecond), "-1/2 in");
    /// ```
    pub fn in_fractions(self, fraction: InchFraction) -> String {
        let parts = u64::from(fraction.parts());
        let total = (self.inches().abs() * parts as f64).round() as u64;
        let sign = if self.mm() < 0.0 && total > 0 { "-" } else { "" };
        let (whole, mut above, mut below) = (total / parts, total % parts, parts);
        while above > 0 && above % 2 == 0 {
            (above, below) = (above / 2, below / 2);
        }
        match (whole, above) {
            (whole, 0) => format!("{sign}{whole} in"),
            (0, above) => format!("{sign}{above}/{below} in"),
            (whole, above) => format!("{sign}{whole} {above}/{below} in"),
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use proptest::prelude::*;

    use super::*;
    use crate::space::LengthUnit;

    /// Source: arithmetic; sixteenths of an inch are 1.5875 mm exactly.
    #[test]
    fn sixteenths() {
        for (mm, want) in [
            (1.5875, "1/16 in"),
            (4.7625, "3/16 in"),
            (23.8125, "15/16 in"),
            (25.4, "1 in"),
            (0.0, "0 in"),
            (-0.1, "0 in"),
            (25.0, "1 in"),
            (63.5, "2 1/2 in"),
        ] {
            assert_eq!(Length::from_mm(mm).in_fractions(InchFraction::Sixteenth), want, "{mm}");
        }
        assert_eq!(Length::from_mm(0.79375).in_fractions(InchFraction::ThirtySecond), "1/32 in");
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_back_within_half_a_division(mm in -5000.0f64..5000.0) {
            for fraction in [InchFraction::Sixteenth, InchFraction::ThirtySecond] {
                let text = Length::from_mm(mm).in_fractions(fraction);
                let back = Length::parse(&text, LengthUnit::Millimetre).unwrap().mm();
                prop_assert!((back - mm).abs() <= 12.7 / f64::from(fraction.parts()) + 1e-9, "{text}");
            }
        }
    }
}
