//! Angles: radians inside, degrees at the edges.

use std::fmt;
use std::ops::{Add, Mul, Neg, Sub};

use super::number::{self, QuantityError};

/// An angle. Radians inside; degrees exist only while text is read or written.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Angle {
    rad: f64,
}

/// The units in which a shop writes an angle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum AngleUnit {
    /// Degree; what a bare number means.
    #[default]
    Degree,
    /// Radian.
    Radian,
    /// Minute of arc, 1/60 degree.
    ArcMinute,
    /// A full turn, 360 degrees.
    Turn,
}

impl AngleUnit {
    /// Radians in one of this unit.
    pub fn rad(self) -> f64 {
        match self {
            AngleUnit::Degree => std::f64::consts::PI / 180.0,
            AngleUnit::Radian => 1.0,
            AngleUnit::ArcMinute => std::f64::consts::PI / 10_800.0,
            AngleUnit::Turn => std::f64::consts::TAU,
        }
    }

    /// The unit that a word or mark names: `deg`, `°`, `rad`, `arcmin`, `turn` and long forms.
    pub fn from_word(word: &str) -> Option<Self> {
        Some(match word {
            "deg" | "degree" | "degrees" | "\u{b0}" => Self::Degree,
            "rad" | "radian" | "radians" => Self::Radian,
            "arcmin" => Self::ArcMinute,
            "turn" | "turns" => Self::Turn,
            _ => return None,
        })
    }
}

impl Angle {
    /// No turn at all.
    pub const ZERO: Angle = Angle { rad: 0.0 };

    /// From radians.
    pub const fn from_rad(rad: f64) -> Self {
        Angle { rad }
    }

    /// From degrees.
    pub fn from_deg(deg: f64) -> Self {
        Angle { rad: deg.to_radians() }
    }

    /// In radians.
    pub const fn rad(self) -> f64 {
        self.rad
    }

    /// In degrees.
    pub fn deg(self) -> f64 {
        self.rad.to_degrees()
    }

    /// Reads what a shop writes; a bare number is degrees: `35 deg`, `22.5°`, `1/4 turn`, `0.5 rad`.
    ///
    /// # Errors
    /// [`QuantityError`] names what stood in the way and shows forms that work.
    ///
    /// # Example
    /// ```
    /// # extern crate baywright_lower as baywright;
    /// use baywright::space::Angle;
    /// assert_eq!(Angle::parse("1/4 turn").unwrap().deg(), 90.0);
    /// ```
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        number::parse_angle(text).map(Self::from_rad)
    }
}

/// Degrees with as many decimals as asked for (one unless told): `{:.2}` gives `22.50 deg`.
impl fmt::Display for Angle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} deg", number::shown(self.deg(), f.precision().unwrap_or(1)))
    }
}

impl Add for Angle {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Angle { rad: self.rad + other.rad }
    }
}

impl Sub for Angle {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Angle { rad: self.rad - other.rad }
    }
}

impl Neg for Angle {
    type Output = Self;
    fn neg(self) -> Self {
        Angle { rad: -self.rad }
    }
}

impl Mul<f64> for Angle {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Angle { rad: self.rad * factor }
    }
}
