//! Four f32 side by side: plain arrays that compilers turn into vector registers.

use std::ops::{Add, Mul, Sub};

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
    fn each(self, other: Self, f: impl Fn(f32, f32) -> f32) -> Self {
        let (a, b) = (self.0, other.0);
        F4([f(a[0], b[0]), f(a[1], b[1]), f(a[2], b[2]), f(a[3], b[3])])
    }

    #[inline(always)]
    pub fn abs(self) -> Self {
        F4([self.0[0].abs(), self.0[1].abs(), self.0[2].abs(), self.0[3].abs()])
    }

    #[inline(always)]
    pub fn max(self, other: Self) -> Self {
        self.each(other, |a, b| if a > b { a } else { b })
    }

    #[inline(always)]
    pub fn sqrt(self) -> Self {
        F4([self.0[0].sqrt(), self.0[1].sqrt(), self.0[2].sqrt(), self.0[3].sqrt()])
    }
}

impl Add for F4 {
    type Output = F4;
    #[inline(always)]
    fn add(self, other: F4) -> F4 {
        self.each(other, |a, b| a + b)
    }
}

impl Sub for F4 {
    type Output = F4;
    #[inline(always)]
    fn sub(self, other: F4) -> F4 {
        self.each(other, |a, b| a - b)
    }
}

impl Mul for F4 {
    type Output = F4;
    #[inline(always)]
    fn mul(self, other: F4) -> F4 {
        self.each(other, |a, b| a * b)
    }
}
