//! Frequencies as radios have them: whole hertz.

use std::fmt;
use std::ops::{Add, Sub};

use serde::{Deserialize, Serialize};

/// A frequency, or a difference of two, in whole hertz. No radio of the kind that we tune is
/// finer, and a whole number is compared and encoded exactly.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Hertz(pub i64);

impl Hertz {
    /// The nearest whole hertz to `hertz`; nonsense (not a number, out of range) is clamped.
    pub fn rounded(hertz: f64) -> Self {
        Self(hertz.round() as i64)
    }

    /// As a floating-point number of hertz; exact for every radio frequency.
    pub fn as_f64(self) -> f64 {
        self.0 as f64
    }

    /// The multiple of `step` nearest to this frequency; the frequency itself if `step` is below
    /// two hertz.
    pub fn to_step(self, step: Hertz) -> Self {
        if step.0 < 2 {
            return self;
        }
        Self(self.0.saturating_add(step.0 / 2).div_euclid(step.0).saturating_mul(step.0))
    }

    /// The distance from zero.
    pub fn abs(self) -> Self {
        Self(self.0.saturating_abs())
    }
}

impl Add for Hertz {
    type Output = Hertz;
    fn add(self, other: Hertz) -> Hertz {
        Hertz(self.0.saturating_add(other.0))
    }
}

impl Sub for Hertz {
    type Output = Hertz;
    fn sub(self, other: Hertz) -> Hertz {
        Hertz(self.0.saturating_sub(other.0))
    }
}

/// In megahertz with all six decimals, grouped: `145.950 000 MHz`.
impl fmt::Display for Hertz {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let hertz = self.0.unsigned_abs();
        let (mega, kilo, unit) = (hertz / 1_000_000, hertz / 1_000 % 1_000, hertz % 1_000);
        f.pad(&format!("{sign}{mega}.{kilo:03} {unit:03} MHz"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn is_shown_in_grouped_megahertz() {
        assert_eq!(Hertz(145_950_000).to_string(), "145.950 000 MHz");
        assert_eq!(Hertz(-1_250).to_string(), "-0.001 250 MHz");
    }

    #[test]
    fn rounds_to_the_dials_step() {
        assert_eq!(Hertz(145_950_004).to_step(Hertz(10)), Hertz(145_950_000));
        assert_eq!(Hertz(145_950_005).to_step(Hertz(10)), Hertz(145_950_010));
        assert_eq!(Hertz(145_950_005).to_step(Hertz(1)), Hertz(145_950_005));
        assert_eq!(Hertz(435_002_500).to_step(Hertz(5_000)), Hertz(435_005_000));
    }
}
