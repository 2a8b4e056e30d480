//! A rehearsal's clock.

use std::time::Instant;

use super::{Clock, Trust};
use crate::terms::{Moment, Time, later};

/// Starts at a chosen instant and runs a fixed number of times as fast as real time.
pub struct ScaledClock {
    start: Time,
    speed: f64,
    started: Instant,
}

impl ScaledClock {
    /// Starts at `start`, now, at `speed` seconds a second.
    pub fn new(start: Time, speed: f64) -> Self {
        Self { start, speed, started: Instant::now() }
    }
}

impl Clock for ScaledClock {
    fn now(&self) -> Moment {
        let mono = self.started.elapsed();
        Moment { utc: later(self.start, mono.as_secs_f64() * self.speed), mono, speed: self.speed }
            .to_microseconds()
    }

    fn trust(&self) -> Trust {
        Trust::Rehearsal
    }

    fn is_rehearsal(&self) -> bool {
        true
    }
}
