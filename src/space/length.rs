//! Lengths: millimetres inside, shop units at the edges.

use std::fmt;
use std::ops::{Add, Div, Mul, Neg, Sub};

use super::number::{self, QuantityError};

/// A length. Millimetres inside; other units exist only while text is read or written.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Length {
    mm: f64,
}

/// The units in which a shop writes a length.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LengthUnit {
    /// Millimetre.
    #[default]
    Millimetre,
    /// Centimetre.
    Centimetre,
    /// Metre.
    Metre,
    /// Inch, 25.4 mm exactly.
    Inch,
    /// Foot, 304.8 mm exactly.
    Foot,
}

impl LengthUnit {
    /// Millimetres in one of this unit, exactly (inch: NIST SP 811, appendix B).
    pub const fn mm(self) -> f64 {
        match self {
            LengthUnit::Millimetre => 1.0,
            LengthUnit::Centimetre => 10.0,
            LengthUnit::Metre => 1000.0,
            LengthUnit::Inch => 25.4,
            LengthUnit::Foot => 304.8,
        }
    }

    /// Millimetres in one of this unit as a ratio of whole numbers, which doubles hold exactly.
    pub(super) const fn mm_ratio(self) -> (f64, f64) {
        match self {
            LengthUnit::Millimetre => (1.0, 1.0),
            LengthUnit::Centimetre => (10.0, 1.0),
            LengthUnit::Metre => (1000.0, 1.0),
            LengthUnit::Inch => (254.0, 10.0),
            LengthUnit::Foot => (3048.0, 10.0),
        }
    }

    /// The unit that a word or mark names: `mm`, `cm`, `m`, `in`, `"`, `ft`, `'` and long forms.
    pub fn from_word(word: &str) -> Option<Self> {
        Some(match word {
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Self::Millimetre,
            "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Self::Centimetre,
            "m" | "metre" | "metres" | "meter" | "meters" => Self::Metre,
            "in" | "inch" | "inches" | "\"" | "\u{201d}" | "\u{2033}" => Self::Inch,
            "ft" | "foot" | "feet" | "'" | "\u{2019}" | "\u{2032}" => Self::Foot,
            _ => return None,
        })
    }
}

impl Length {
    /// No length at all.
    pub const ZERO: Length = Length { mm: 0.0 };

    /// From millimetres.
    pub const fn from_mm(mm: f64) -> Self {
        Length { mm }
    }

    /// From inches; 1 in is 25.4 mm exactly (source: NIST SP 811, appendix B).
    pub const fn from_inches(inches: f64) -> Self {
        // By way of whole numbers: 3 * 254 / 10 is the double nearest to 76.2, 3 * 25.4 is not.
        Length { mm: inches * 254.0 / 10.0 }
    }

    /// In millimetres.
    pub const fn mm(self) -> f64 {
        self.mm
    }

    /// In inches.
    pub const fn inches(self) -> f64 {
        self.mm / 25.4
    }

    /// Reads what a shop writes; a bare number takes `bare`.
    ///
    /// Whole numbers, decimals, fractions and mixed numbers, in one unit or in feet and inches:
    /// `76.2 mm`, `3 in`, `2-1/8"`, `14 3/16 in`, `7 ft 2 in`, `-1/2 in`. The sign covers the
    /// whole quantity.
    ///
    /// # Errors
    /// [`QuantityError`] names what stood in the way and shows forms that work.
    ///
    /// # Example
    /// ```
    /// # extern crate baywright_lower as baywright;
    /// use baywright::space::{Length, LengthUnit};
    /// let pipe = Length::parse("2-1/2\"", LengthUnit::Millimetre).unwrap();
    /// assert_eq!(pipe.mm(), 63.5); // 2.5 * 25.4
    /// ```
    pub fn parse(text: &str, bare: LengthUnit) -> Result<Self, QuantityError> {
        number::parse_length(text, bare).map(Self::from_mm)
    }

    /// The absolute length.
    pub fn abs(self) -> Self {
        Length { mm: self.mm.abs() }
    }

    /// The lesser of two.
    pub fn min(self, other: Self) -> Self {
        Length { mm: self.mm.min(other.mm) }
    }

    /// The greater of two.
    pub fn max(self, other: Self) -> Self {
        Length { mm: self.mm.max(other.mm) }
    }
}

/// Millimetres with as many decimals as asked for (one unless told): `{:.2}` gives `12.70 mm`.
impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", number::shown(self.mm, f.precision().unwrap_or(1)))
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Length { mm: self.mm + other.mm }
    }
}

impl Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Length { mm: self.mm - other.mm }
    }
}

impl Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Length { mm: -self.mm }
    }
}

impl Mul<f64> for Length {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Length { mm: self.mm * factor }
    }
}

impl Div<f64> for Length {
    type Output = Self;
    fn div(self, divisor: f64) -> Self {
        Length { mm: self.mm / divisor }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_inches_are_the_nearest_doubles() {
        for (inches, want_mm) in [(3.0, 76.2), (0.125, 3.175), (-11.0, -279.4), (86.0, 2184.4)] {
            assert_eq!(Length::from_inches(inches).mm(), want_mm, "{inches} in");
        }
    }
}
