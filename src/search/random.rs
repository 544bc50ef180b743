//! A small seeded generator: the same numbers on every machine.
use crate::geometry::trig;
use std::f64::consts::TAU;

/// SplitMix64 (Steele, Lea, Flood 2014): one word of state, passes the usual test batteries, ample for a search.
#[derive(Clone, Debug)]
pub struct Random(u64);

impl Random {
    /// A generator with this seed.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }
    /// Uniform in [0, 1).
    pub fn uniform(&mut self) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "53 bits fit exactly")]
        let bits = (self.next() >> 11) as f64;
        bits / 9_007_199_254_740_992.0
    }
    /// Normal with mean 0 and deviation 1 (Box-Muller).
    pub fn normal(&mut self) -> f64 {
        let u = 1.0 - self.uniform();
        (-2.0 * trig::ln(u)).sqrt() * trig::cos(TAU * self.uniform())
    }
}
