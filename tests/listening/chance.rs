//! Repeatable chance.

/// A linear congruential generator (Knuth's MMIX constants); its upper bits are used.
#[derive(Clone)]
pub(crate) struct Chance(pub(crate) u64);

impl Chance {
    /// From 0 up to but not including 1.
    pub(crate) fn part(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / (1u64 << 31) as f64
    }

    pub(crate) fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * self.part()
    }

    /// Bell-shaped around zero with this standard deviation: the sum of twelve even numbers.
    pub(crate) fn bell(&mut self, deviation: f64) -> f64 {
        ((0..12).map(|_| self.part()).sum::<f64>() - 6.0) * deviation
    }

    /// How long one waits for what comes so often in a second.
    pub(crate) fn wait(&mut self, rate: f64) -> f64 {
        -(1.0 - self.part()).ln() / rate
    }

    pub(crate) fn is(&mut self, chance: f64) -> bool {
        self.part() < chance
    }
}
