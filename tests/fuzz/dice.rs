//! A small generator of numbers that gives the same ones from the same seed.

/// Splitmix64: Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014.
pub(crate) struct Dice(u64);

impl Dice {
    /// Starts at `PERPEND_SEED`, or always at the same.
    pub(crate) fn new() -> Self {
        let seed = std::env::var("PERPEND_SEED").ok();
        Self(seed.and_then(|seed| seed.parse().ok()).unwrap_or(20))
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number below another; nothing is below nothing.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        (self.next() % end.max(1) as u64) as usize
    }

    pub(crate) fn once_in(&mut self, times: usize) -> bool {
        self.below(times) == 0
    }

    /// One of several, of which there is one at least.
    pub(crate) fn of<'a, T>(&mut self, several: &'a [T]) -> &'a T {
        let at = self.below(several.len());
        &several[at]
    }
}
