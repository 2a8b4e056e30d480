//! The signal meter: what arrives follows free-space loss.

use std::fmt;
use std::sync::Arc;

use crate::terms::{Hertz, Time};

/// The noise of a quiet receiver, dBm: one S-unit.
pub(super) const NOISE_DBM: f64 = S9_DBM - 8.0 * S_UNIT_DB;
/// S9 above 30 MHz, dBm, and the size of an S-unit (IARU Region 1 recommendation R.1).
const S9_DBM: f64 = -93.0;
const S_UNIT_DB: f64 = 6.0;
/// The squelch opens this far above the noise, dB.
const SQUELCH_DB: f64 = 3.0;

/// Distance to the source, km, as a function of time; `None` while it is out of sight.
pub type Range = Arc<dyn Fn(Time) -> Option<f64> + Send + Sync>;

/// Something to hear.
#[derive(Clone)]
pub struct SignalSource {
    /// How far away it is.
    pub range: Range,
    /// Radiated power plus the gain of the receiving antenna, dBm.
    pub power_dbm: f64,
}

impl fmt::Debug for SignalSource {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("SignalSource").field("power_dbm", &self.power_dbm).finish_non_exhaustive()
    }
}

impl SignalSource {
    /// The level at the receiver, dBm, never below the noise.
    pub(super) fn level_dbm(&self, at: Time, hertz: Hertz) -> f64 {
        let level = (self.range)(at).map(|range_km| self.power_dbm - free_space_loss_db(range_km, hertz));
        level.unwrap_or(NOISE_DBM).max(NOISE_DBM)
    }
}

/// Free-space loss, dB (ITU-R P.525: 32.4 + 20 log f/MHz + 20 log d/km).
fn free_space_loss_db(range_km: f64, hertz: Hertz) -> f64 {
    32.4 + 20.0 * (hertz.as_f64() * 1e-6).log10() + 20.0 * range_km.log10()
}

/// Where the needle stands on a scale whose S9 is at `s9` and whose end, 60 dB above, at `end`.
pub(super) fn reading(level_dbm: f64, s9: f64, end: f64) -> u32 {
    let over = level_dbm - S9_DBM;
    let needle =
        if over < 0.0 { s9 * (1.0 + over / (9.0 * S_UNIT_DB)) } else { s9 + (end - s9) * over / 60.0 };
    needle.clamp(0.0, end).round() as u32
}

/// Whether the squelch is open.
pub(super) fn is_open(level_dbm: f64) -> bool {
    level_dbm > NOISE_DBM + SQUELCH_DB
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::parse_time;

    #[test]
    fn twice_the_distance_is_six_decibels_less() {
        let time = parse_time("2026-11-25T18:30:00Z").unwrap();
        let at_km = |km| SignalSource { range: Arc::new(move |_| Some(km)), power_dbm: 40.0 };
        let level = |km| at_km(km).level_dbm(time, Hertz(435_000_000));
        assert!((level(500.0) - level(1_000.0) - 6.0206).abs() < 1e-3);
        // By hand from P.525: 32.4 + 20 log 435 + 20 log 1000 = 32.4 + 52.77 + 60 = 145.17 dB.
        assert!((level(1_000.0) - (40.0 - 145.17)).abs() < 0.01);
    }

    #[test]
    fn what_is_out_of_sight_leaves_the_noise_and_a_closed_squelch() {
        let time = parse_time("2026-11-25T18:30:00Z").unwrap();
        let gone = SignalSource { range: Arc::new(|_| None), power_dbm: 40.0 };
        let level = gone.level_dbm(time, Hertz(435_000_000));
        assert_eq!(level, NOISE_DBM);
        assert!(!is_open(level) && is_open(level + 6.0));
    }

    #[test]
    fn the_needle_passes_s9_at_its_mark_and_stops_at_the_end() {
        assert_eq!(reading(S9_DBM, 120.0, 241.0), 120);
        assert_eq!(reading(S9_DBM + 60.0, 120.0, 241.0), 241);
        assert_eq!(reading(S9_DBM + 90.0, 120.0, 241.0), 241);
        assert_eq!(reading(S9_DBM - 54.0, 120.0, 241.0), 0);
    }
}
