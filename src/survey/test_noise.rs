//! Seeded scatter for tests.

use nalgebra::Vector3;

/// Reproducible random numbers (a 64-bit congruential generator with an output hash).
pub(super) struct Noise {
    state: u64,
}

impl Noise {
    pub(super) fn new(seed: u64) -> Self {
        Noise { state: seed.wrapping_mul(0x9e37_79b9_7f4a_7c15).wrapping_add(1) }
    }

    /// Between 0 and 1.
    pub(super) fn uniform(&mut self) -> f64 {
        self.state =
            self.state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let mut x = self.state;
        x = (x ^ (x >> 32)).wrapping_mul(0xd6e8_feb8_6659_fd93);
        x ^= x >> 32;
        ((x >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// Normal, mean 0, standard deviation 1 (Box and Muller).
    pub(super) fn normal(&mut self) -> f64 {
        let (a, b) = (self.uniform(), self.uniform());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }

    /// Each coordinate normal with this standard deviation.
    pub(super) fn vector(&mut self, sigma: f64) -> Vector3<f64> {
        Vector3::new(self.normal(), self.normal(), self.normal()) * sigma
    }
}
