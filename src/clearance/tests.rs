//! What the room's own tests share.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use nalgebra::{Point3, UnitQuaternion, Vector3};

/// Seeded random numbers for tests (splitmix64: Steele, Lea and Flood 2014, from memory).
pub(crate) struct Dice {
    state: u64,
}

impl Dice {
    pub fn new(seed: u64) -> Self {
        Dice { state: seed }
    }

    /// In `[-1, 1)`.
    pub fn roll(&mut self) -> f64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }

    pub fn vector(&mut self, size: f64) -> Vector3<f64> {
        Vector3::new(self.roll(), self.roll(), self.roll()) * size
    }

    pub fn point(&mut self, size: f64) -> Point3<f64> {
        Point3::from(self.vector(size))
    }

    pub fn turn(&mut self) -> UnitQuaternion<f64> {
        let q = nalgebra::Quaternion::new(self.roll(), self.roll(), self.roll(), self.roll());
        UnitQuaternion::from_quaternion(q)
    }
}
