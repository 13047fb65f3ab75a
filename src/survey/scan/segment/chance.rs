//! Random numbers that depend on their place alone, not on what was drawn before.

/// Numbers of one draw.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chance {
    state: u64,
}

/// The output function of `splitmix64` (Steele, Lea and Flood, OOPSLA 2014): every bit depends on every bit.
pub(super) fn mixed(mut x: u64) -> u64 {
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}

impl Chance {
    pub(super) fn new(seed: u64, round: u64, draw: u64) -> Self {
        Chance { state: mixed(mixed(mixed(seed.wrapping_add(1)).wrapping_add(round)).wrapping_add(draw)) }
    }

    pub(super) fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        mixed(self.state)
    }

    /// From 0 to less than 1.
    pub(super) fn uniform(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// From 0 to less than `count`; 0 for no count.
    pub(super) fn below(&mut self, count: usize) -> usize {
        ((u128::from(self.next()) * count as u128) >> 64) as usize
    }
}
