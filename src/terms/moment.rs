//! Now, on both scales that matter.

use std::time::Duration;

use chrono::SubsecRound as _;

use super::{Time, later};

/// An instant as a clock gives it: what the plans are asked for, and what deadlines count in.
///
/// On a rehearsal's clock `utc` runs `speed` times as fast as `mono`; on the system's, `utc` may
/// be stepped while `mono` runs on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Plan time.
    pub utc: Time,
    /// Real monotonic time since the clock was made: bytes on a wire and time-outs.
    pub mono: Duration,
    /// Seconds of plan time per second of monotonic time.
    pub speed: f64,
}

impl Moment {
    /// The same to the microsecond, as clocks give it: finer digits mean nothing to anybody, and cost
    /// room in a flight record.
    pub fn to_microseconds(self) -> Self {
        let mono = self.mono - Duration::from_nanos(u64::from(self.mono.subsec_nanos() % 1000));
        Self { utc: self.utc.trunc_subsecs(6), mono, ..self }
    }

    /// The plan time that will be when `wait` of monotonic time has passed.
    pub fn utc_after(&self, wait: Duration) -> Time {
        later(self.utc, wait.as_secs_f64() * self.speed)
    }

    /// The monotonic time when `seconds` of plan time have passed, whatever is done to the clock.
    pub fn mono_after(&self, seconds: f64) -> Duration {
        let wait = Duration::try_from_secs_f64(seconds.max(0.0) / self.speed);
        self.mono.saturating_add(wait.unwrap_or(Duration::MAX))
    }
}
