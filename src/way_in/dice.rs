//! Seeded chance.

use nalgebra::{Point3, Quaternion, UnitQuaternion, Vector3};

use crate::space::Bounds;

/// Seeded random numbers; the same seed gives the same numbers everywhere.
///
/// # Source
/// splitmix64: Steele, Lea and Flood 2014 (from memory).
#[derive(Clone, Debug)]
pub(super) struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        let mut dice = Dice(seed.wrapping_mul(0xd134_2543_de82_ef95).wrapping_add(0x2545_f491_4f6c_dd1d));
        dice.bits();
        dice
    }

    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// In `[0, 1)`.
    pub fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// In `[-1, 1)`.
    pub fn either(&mut self) -> f64 {
        2.0 * self.share() - 1.0
    }

    /// Below `count`, which is not zero.
    pub fn below(&mut self, count: usize) -> usize {
        ((self.share() * count as f64) as usize).min(count.saturating_sub(1))
    }

    pub fn point(&mut self, bounds: &Bounds) -> Point3<f64> {
        let size = bounds.size();
        let share = Vector3::new(self.share(), self.share(), self.share());
        bounds.min + size.component_mul(&share)
    }

    /// Within the unit ball.
    pub fn in_ball(&mut self) -> Vector3<f64> {
        loop {
            let v = Vector3::new(self.either(), self.either(), self.either());
            if v.norm_squared() <= 1.0 {
                return v;
            }
        }
    }

    /// Of unit length.
    pub fn direction(&mut self) -> Vector3<f64> {
        loop {
            if let Some(unit) = self.in_ball().try_normalize(1e-3) {
                return unit;
            }
        }
    }

    /// Evenly over all turns.
    ///
    /// # Source
    /// A point of the unit ball in four dimensions, by rejection, put on its sphere.
    pub fn turn(&mut self) -> UnitQuaternion<f64> {
        loop {
            let q = Quaternion::new(self.either(), self.either(), self.either(), self.either());
            let norm = q.norm_squared();
            if (1e-6..=1.0).contains(&norm) {
                return UnitQuaternion::from_quaternion(q);
            }
        }
    }
}
