//! Repeatable chance: the same seed brings the same faults.

/// The splitmix64 generator (Steele, Lea and Flood 2014; constants from memory): a few lines,
/// good enough to lose bytes by, and the same on every machine.
#[derive(Debug, Clone)]
pub(super) struct Chance(u64);

impl Chance {
    pub(super) fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// True once in `one_in` times on average; never for zero.
    pub(super) fn once_in(&mut self, one_in: u32) -> bool {
        one_in > 0 && self.next().is_multiple_of(u64::from(one_in))
    }

    /// Any byte.
    pub(super) fn byte(&mut self) -> u8 {
        (self.next() >> 56) as u8
    }

    /// Evenly spread from -1 to 1.
    pub(super) fn either_side(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_brings_the_same_faults_about_as_often_as_asked() {
        let draw = |seed| {
            let mut chance = Chance::new(seed);
            (0..10_000).map(|_| chance.once_in(10)).collect::<Vec<bool>>()
        };
        assert_eq!(draw(7), draw(7));
        assert_ne!(draw(7), draw(8));
        let hits = draw(7).into_iter().filter(|hit| *hit).count();
        assert!((800..1_200).contains(&hits), "{hits}");
    }

    #[test]
    fn noise_stays_within_one_on_either_side() {
        let mut chance = Chance::new(1);
        let drawn: Vec<f64> = (0..10_000).map(|_| chance.either_side()).collect();
        assert!(drawn.iter().all(|x| (-1.0..=1.0).contains(x)));
        assert!((drawn.iter().sum::<f64>() / 10_000.0).abs() < 0.05);
    }
}
