//! Pseudorandom numbers for tests and benchmarks: the same on every machine, all from one seed, so that a failure is
//! repeated by its seed alone.
#![allow(dead_code, reason = "each test uses some of it")]

/// A generator of 64-bit numbers (SplitMix64; Steele, Lea and Flood, OOPSLA 2014). Its only state is its seed: equal
/// seeds give equal numbers. Tests and documents name seeds, so the numbers of a seed must stay as they are.
pub struct Random(pub u64);

impl Random {
    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from `low` to `high`, both included, evenly spread in steps of 2⁻³² of the range.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        let bits = u32::try_from(self.bits() >> 32).expect("32 bits");
        low + (high - low) * f64::from(bits) / f64::from(u32::MAX)
    }

    /// A whole number from 0 to `count` - 1, or 0 if `count` is 0.
    pub fn below(&mut self, count: usize) -> usize {
        usize::try_from(self.bits() % u64::try_from(count.max(1)).expect("64 bits")).expect("below a usize")
    }

    /// True with a probability of `share`.
    pub fn chance(&mut self, share: f64) -> bool {
        self.between(0.0, 1.0) < share
    }

    /// True once in `count` times.
    pub fn one_in(&mut self, count: usize) -> bool {
        self.below(count) == 0
    }

    /// One entry of a list that is not empty.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to below the length")]
    pub fn pick<T: Clone>(&mut self, list: &[T]) -> T {
        let end = f64::from(u32::try_from(list.len()).expect("a short list"));
        list[self.between(0.0, end - 1e-9) as usize].clone()
    }
}

/// The first numbers of seed 1234567, as computed by the published formula in integers without a size.
#[test]
fn numbers_of_the_reference() {
    let mut random = Random(1_234_567);
    assert_eq!(
        [(); 3].map(|()| random.bits()),
        [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423,]
    );
}
