//! Ten lines of chance, so that a seed replays a run for ever (no crate's algorithm can change under it).

/// A seeded source of chance (splitmix64; the constants are from memory, only their mixing matters here).
#[derive(Clone, Debug)]
pub struct Rng(u64);

impl Rng {
    /// The same seed gives the same run.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(seed ^ 0x6775_6467_656f_6e00)
    }

    /// Any 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `limit`, nought for an empty range.
    pub fn below(&mut self, limit: usize) -> usize {
        let limit = u64::try_from(limit).unwrap_or(u64::MAX).max(1);
        usize::try_from(self.bits() % limit).unwrap_or(0)
    }

    /// True once in `n` times.
    pub fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    /// One of the items, if there is one.
    pub fn pick<T: Clone>(&mut self, items: &[T]) -> Option<T> {
        items.get(self.below(items.len())).cloned()
    }

    /// Puts the items in a random order.
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last + 1));
        }
    }
}
