//! Four f32 side by side, worked on at once.

use std::ops::{Add, Mul, Sub};

use wide::f32x4;

/// Four lanes.
#[derive(Clone, Copy, Debug, PartialEq)]
#[repr(align(16))]
pub(crate) struct F4(pub [f32; 4]);

impl F4 {
    pub const ZERO: F4 = F4([0.0; 4]);

    #[inline(always)]
    pub fn splat(value: f32) -> Self {
        F4([value; 4])
    }

    #[inline(always)]
    fn wide(self) -> f32x4 {
        f32x4::new(self.0)
    }

    #[inline(always)]
    pub fn abs(self) -> Self {
        F4(self.wide().abs().to_array())
    }

    /// The greater; of a number and no number, either.
    #[inline(always)]
    pub fn max(self, other: Self) -> Self {
        F4(self.wide().fast_max(other.wide()).to_array())
    }

    /// The lesser; of a number and no number, either.
    #[inline(always)]
    pub fn min(self, other: Self) -> Self {
        F4(self.wide().fast_min(other.wide()).to_array())
    }

    /// This size with the other's sign.
    #[inline(always)]
    pub fn with_sign_of(self, other: Self) -> Self {
        F4(self.wide().abs().copysign(other.wide()).to_array())
    }

    /// Quotient, zero where the divisor is.
    #[inline(always)]
    pub fn over(self, other: Self) -> Self {
        F4((self.wide() / other.wide().fast_max(f32x4::new([1e-30; 4]))).to_array())
    }

    #[inline(always)]
    pub fn sqrt(self) -> Self {
        F4(self.wide().sqrt().to_array())
    }
}

impl Add for F4 {
    type Output = F4;
    #[inline(always)]
    fn add(self, other: F4) -> F4 {
        F4((self.wide() + other.wide()).to_array())
    }
}

impl Sub for F4 {
    type Output = F4;
    #[inline(always)]
    fn sub(self, other: F4) -> F4 {
        F4((self.wide() - other.wide()).to_array())
    }
}

impl Mul for F4 {
    type Output = F4;
    #[inline(always)]
    fn mul(self, other: F4) -> F4 {
        F4((self.wide() * other.wide()).to_array())
    }
}
