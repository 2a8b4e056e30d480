//! Moments as two small numbers: how long after the record's beginning, by the clock that never
//! jumps, and how far UTC is by then from where it should be. Exact to the nanosecond, because a
//! plan that is asked a little later gives another frequency.

use std::time::Duration;

use chrono::TimeDelta;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::terms::{Moment, Time};

use super::Stamp;

/// Where a record's numbers count from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Origin {
    /// The first moment; its `speed` holds for all.
    pub begun: Moment,
}

/// How much later than the step before: the clock that never jumps, and UTC beyond what that says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct TimeStep {
    /// Nanoseconds.
    pub mono: Nanos,
    /// Nanoseconds.
    pub drift: Nanos,
}

/// Nanoseconds, written as microseconds: whole ones, as the daemon's clocks count, take few digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, PartialOrd, Ord)]
pub struct Nanos(pub i64);

impl Nanos {
    /// Whether it is nothing, and need not be written.
    pub fn is_zero(&self) -> bool {
        self.0 == 0
    }
}

impl Serialize for Nanos {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if self.0 % 1000 == 0 {
            serializer.serialize_i64(self.0 / 1000)
        } else {
            serializer.serialize_f64(self.0 as f64 / 1000.0)
        }
    }
}

impl<'de> Deserialize<'de> for Nanos {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        // What is beyond a double's 53 bits is cut off, and what is no number of this world ends at
        // the ends.
        Ok(Self((f64::deserialize(deserializer)? * 1000.0).round() as i64))
    }
}

impl Origin {
    /// A moment in the record's numbers.
    pub fn stamp(&self, moment: Moment) -> Stamp {
        let since = nanos(moment.mono).saturating_sub(nanos(self.begun.mono));
        let passed = (moment.utc - self.begun.utc).num_nanoseconds().unwrap_or(i64::MAX);
        Stamp { t: Nanos(since), drift: Nanos(passed.saturating_sub(self.usual(since))) }
    }

    /// The moment of a stamp. One before the record's beginning is its beginning.
    pub fn moment(&self, stamp: Stamp) -> Moment {
        let mono = self.begun.mono.saturating_add(Duration::from_nanos(stamp.t.0.max(0).unsigned_abs()));
        let passed = self.usual(stamp.t.0).saturating_add(stamp.drift.0);
        let utc = self.begun.utc.checked_add_signed(TimeDelta::nanoseconds(passed));
        Moment { utc: utc.unwrap_or(Time::MAX_UTC), mono, speed: self.begun.speed }
    }

    /// The nanoseconds of UTC that belong to as many of the steady clock.
    fn usual(&self, since: i64) -> i64 {
        (since as f64 * self.begun.speed).round() as i64
    }
}

impl Stamp {
    /// The stamp so much later.
    pub fn after(self, step: TimeStep) -> Self {
        Self {
            t: Nanos(self.t.0.saturating_add(step.mono.0)),
            drift: Nanos(self.drift.0.saturating_add(step.drift.0)),
        }
    }

    /// How much later this stamp is than one before it.
    pub fn since(self, before: Self) -> TimeStep {
        TimeStep {
            mono: Nanos(self.t.0.saturating_sub(before.t.0)),
            drift: Nanos(self.drift.0.saturating_sub(before.drift.0)),
        }
    }

    /// Seconds since the record's beginning.
    pub fn seconds(self) -> f64 {
        self.t.0 as f64 * 1e-9
    }
}

fn nanos(time: Duration) -> i64 {
    time.as_nanos().try_into().unwrap_or(i64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::{later, parse_time};

    #[test]
    fn every_moment_comes_back_to_the_nanosecond_through_its_text() {
        for speed in [1.0, 10.0, 7.3] {
            let utc = parse_time("2026-11-25T18:30:00.123456Z").unwrap();
            let origin = Origin { begun: Moment { utc, mono: Duration::from_micros(98_765_432), speed } };
            for (mono_ns, utc_s) in [
                (98_765_432_000, 0.0),
                (99_000_000_001, 0.3),
                (4_000_000_000_123, -7200.5),
                (98_765_433_000, 1e7),
            ] {
                let moment = Moment { utc: later(utc, utc_s), mono: Duration::from_nanos(mono_ns), speed };
                let text = serde_json::to_string(&origin.stamp(moment)).unwrap();
                let stamp: Stamp = serde_json::from_str(&text).unwrap();
                assert_eq!(origin.moment(stamp), moment, "{text}");
            }
        }
    }

    #[test]
    fn a_steady_clock_takes_few_digits() {
        let utc = parse_time("2026-11-25T18:30:00Z").unwrap();
        let origin = Origin { begun: Moment { utc, mono: Duration::ZERO, speed: 1.0 } };
        let moment = Moment { utc: later(utc, 2.5), mono: Duration::from_millis(2500), speed: 1.0 };
        assert_eq!(serde_json::to_string(&origin.stamp(moment)).unwrap(), "{\"t\":2500000}");
    }

    #[test]
    fn absurd_numbers_end_at_the_ends() {
        let utc = parse_time("2026-11-25T18:30:00Z").unwrap();
        let origin = Origin { begun: Moment { utc, mono: Duration::MAX, speed: 1e300 } };
        for text in ["{\"t\":1e300}", "{\"t\":-1e300,\"u\":1e300}", "{\"t\":9e15,\"u\":-9e18}"] {
            let stamp: Stamp = serde_json::from_str(text).unwrap();
            origin.stamp(origin.moment(stamp.after(stamp.since(Stamp::default()))));
        }
    }
}
