//! Sub-audible access tones (CTCSS).

use std::fmt;

use serde::{Deserialize, Serialize};

/// The tones of TIA-603, in tenths of hertz, 67.0 to 254.1 Hz. The list is from memory of the
/// standard and of the tables printed in radios' manuals, which agree.
const STANDARD: [u16; 50] = [
    670, 693, 719, 744, 770, 797, 825, 854, 885, 915, 948, 974, 1000, 1035, 1072, 1109, 1148, 1188, 1230,
    1273, 1318, 1365, 1413, 1462, 1514, 1567, 1598, 1622, 1655, 1679, 1713, 1738, 1773, 1799, 1835, 1862,
    1899, 1928, 1966, 1995, 2035, 2065, 2107, 2181, 2257, 2291, 2336, 2418, 2503, 2541,
];

/// A sub-audible tone of the land-mobile standard, held in tenths of hertz.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Tone(u16);

/// A frequency that is no tone of the standard.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{0} Hz is no access tone; the nearest of the standard is {1} Hz")]
pub struct ToneError(f64, Tone);

impl Tone {
    /// The standard tone of this many tenths of hertz (885 = 88.5 Hz).
    pub fn from_tenths(tenths: u16) -> Result<Self, ToneError> {
        if STANDARD.contains(&tenths) {
            return Ok(Self(tenths));
        }
        let nearest = Self::all().min_by_key(|tone| tone.0.abs_diff(tenths)).unwrap_or(Self(670));
        Err(ToneError(f64::from(tenths) / 10.0, nearest))
    }

    /// In tenths of hertz.
    pub fn tenths(self) -> u16 {
        self.0
    }

    /// Every tone of the standard, rising.
    pub fn all() -> impl Iterator<Item = Tone> {
        STANDARD.into_iter().map(Tone)
    }
}

impl TryFrom<f64> for Tone {
    type Error = ToneError;
    fn try_from(hertz: f64) -> Result<Self, ToneError> {
        let tone = Self::from_tenths((hertz * 10.0).round() as u16)?;
        if (hertz * 10.0 - f64::from(tone.0)).abs() > 1e-6 {
            return Err(ToneError(hertz, tone));
        }
        Ok(tone)
    }
}

impl From<Tone> for f64 {
    fn from(tone: Tone) -> f64 {
        f64::from(tone.0) / 10.0
    }
}

/// In hertz with one decimal: `88.5`.
impl fmt::Display for Tone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{}.{}", self.0 / 10, self.0 % 10))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_standard_runs_from_67_0_to_254_1() {
        let all: Vec<Tone> = Tone::all().collect();
        assert!(all.windows(2).all(|pair| pair[0] < pair[1]));
        assert_eq!(all.first().map(Tone::to_string), Some("67.0".into()));
        assert_eq!(all.last().map(Tone::to_string), Some("254.1".into()));
    }

    #[test]
    fn a_wrong_tone_names_the_nearest() {
        let error = Tone::try_from(88.0).unwrap_err();
        assert_eq!(error.to_string(), "88 Hz is no access tone; the nearest of the standard is 88.5 Hz");
        assert!(Tone::try_from(f64::NAN).is_err());
        assert!(Tone::try_from(88.52).is_err());
    }
}
