//! Random numbers that are the same on every machine.

use baywright::space::Pose;
use nalgebra::{Quaternion, Translation3, UnitQuaternion, Vector3};

/// The SplitMix64 generator (Steele, Lea & Flood 2014; constants from memory).
pub struct Dice {
    state: u64,
}

impl Dice {
    pub fn new(seed: u64) -> Self {
        Dice { state: seed }
    }

    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform between two values.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.next() >> 11) as f64 / (1u64 << 53) as f64)
    }

    /// One of `count` choices.
    pub fn choice(&mut self, count: usize) -> usize {
        (self.next() % count as u64) as usize
    }

    /// Normal with mean 0 and standard deviation 1 (Box-Muller).
    pub fn normal(&mut self) -> f64 {
        let (u, v) = (self.between(1e-300, 1.0), self.between(0.0, std::f64::consts::TAU));
        (-2.0 * u.ln()).sqrt() * v.cos()
    }

    /// A vector with each part uniform in +/- `half`.
    pub fn vector(&mut self, half: f64) -> Vector3<f64> {
        Vector3::from_fn(|_, _| self.between(-half, half))
    }

    /// Any turn, uniform.
    pub fn turn(&mut self) -> UnitQuaternion<f64> {
        let q = Quaternion::new(self.normal(), self.normal(), self.normal(), self.normal());
        UnitQuaternion::from_quaternion(q)
    }

    /// A pose within `half` of the origin in each axis; every fifth one only shifted, so that faces and
    /// edges lie parallel.
    pub fn pose(&mut self, half: f64) -> Pose {
        let turn = if self.choice(5) == 0 { UnitQuaternion::identity() } else { self.turn() };
        Pose::from_parts(Translation3::from(self.vector(half)), turn)
    }
}
