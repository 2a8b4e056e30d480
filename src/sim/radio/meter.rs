//! The signal meter: what arrives follows free-space loss.

use std::fmt;
use std::sync::Arc;

use crate::sim::chance::Chance;
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

/// On which frequency it arrives, Hz, as a function of time.
pub type Arrives = Arc<dyn Fn(Time) -> f64 + Send + Sync>;

/// A receiver hears what arrives within so much of its dial, Hz: half of a filter for FM (common practice).
const HEARD_WITHIN_HZ: f64 = 7_500.0;

/// Something to hear.
#[derive(Clone)]
pub struct SignalSource {
    /// How far away it is.
    pub range: Range,
    /// Radiated power plus the gain of the receiving antenna, dBm.
    pub power_dbm: f64,
    /// Where it is to be heard; `None`: on any frequency.
    pub arrives: Option<Arrives>,
    /// How far the needle trembles either way, dB.
    pub noise_db: f64,
}

impl fmt::Debug for SignalSource {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("SignalSource").field("power_dbm", &self.power_dbm).finish_non_exhaustive()
    }
}

impl SignalSource {
    /// One that is heard on any frequency, with a needle that stands still.
    pub fn new(range: Range, power_dbm: f64) -> Self {
        Self { range, power_dbm, arrives: None, noise_db: 0.0 }
    }

    /// The level at the receiver, dBm, never below the noise but for its trembling.
    pub(super) fn level_dbm(&self, at: Time, hertz: Hertz) -> f64 {
        let near = |arrives: &Arrives| (arrives(at) - hertz.as_f64()).abs() <= HEARD_WITHIN_HZ;
        let range_km = (self.range)(at).filter(|_| self.arrives.as_ref().is_none_or(near));
        let level = range_km.map(|range_km| self.power_dbm - free_space_loss_db(range_km, hertz));
        let seed = at.timestamp_millis().unsigned_abs();
        let noise = if self.noise_db > 0.0 { self.noise_db * Chance::new(seed).either_side() } else { 0.0 };
        level.unwrap_or(NOISE_DBM).max(NOISE_DBM) + noise
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
        let at_km = |km| SignalSource::new(Arc::new(move |_| Some(km)), 40.0);
        let level = |km| at_km(km).level_dbm(time, Hertz(435_000_000));
        assert!((level(500.0) - level(1_000.0) - 6.0206).abs() < 1e-3);
        // By hand from P.525: 32.4 + 20 log 435 + 20 log 1000 = 32.4 + 52.77 + 60 = 145.17 dB.
        assert!((level(1_000.0) - (40.0 - 145.17)).abs() < 0.01);
    }

    #[test]
    fn what_is_out_of_sight_leaves_the_noise_and_a_closed_squelch() {
        let time = parse_time("2026-11-25T18:30:00Z").unwrap();
        let gone = SignalSource::new(Arc::new(|_| None), 40.0);
        let level = gone.level_dbm(time, Hertz(435_000_000));
        assert_eq!(level, NOISE_DBM);
        assert!(!is_open(level) && is_open(level + 6.0));
    }

    #[test]
    fn what_arrives_beside_the_dial_is_not_heard_and_the_needle_trembles() {
        let time = parse_time("2026-11-25T18:30:00Z").unwrap();
        let (range, arrives): (Range, Arrives) = (Arc::new(|_| Some(500.0)), Arc::new(|_| 435_009_000.0));
        let source = SignalSource { arrives: Some(arrives), ..SignalSource::new(range, 60.0) };
        let level = |source: &SignalSource, hertz| source.level_dbm(time, Hertz(hertz));
        assert_eq!(level(&source, 435_001_000), NOISE_DBM);
        assert!(level(&source, 435_002_000) > NOISE_DBM + 20.0);
        let noisy = SignalSource { noise_db: 2.0, ..source.clone() };
        let off = level(&noisy, 435_002_000) - level(&source, 435_002_000);
        assert!(off != 0.0 && off.abs() <= 2.0, "{off}");
    }

    #[test]
    fn the_needle_passes_s9_at_its_mark_and_stops_at_the_end() {
        assert_eq!(reading(S9_DBM, 120.0, 241.0), 120);
        assert_eq!(reading(S9_DBM + 60.0, 120.0, 241.0), 241);
        assert_eq!(reading(S9_DBM + 90.0, 120.0, 241.0), 241);
        assert_eq!(reading(S9_DBM - 54.0, 120.0, 241.0), 0);
    }
}
