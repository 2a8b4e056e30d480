//! Repeatable chance.

/// A linear congruential generator (Knuth's MMIX constants); its upper bits are used.
pub(crate) struct Chance(pub(crate) u64);

impl Chance {
    pub(crate) fn below(&mut self, bound: u32) -> u32 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % u64::from(bound.max(1))) as u32
    }

    pub(crate) fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * f64::from(self.below(1 << 20)) / f64::from(1 << 20)
    }

    pub(crate) fn once_in(&mut self, times: u32) -> bool {
        self.below(times) == 0
    }

    pub(crate) fn one_of<T: Copy>(&mut self, all: &[T]) -> T {
        all[self.below(all.len() as u32) as usize]
    }
}
