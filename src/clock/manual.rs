//! A clock for tests and virtual time: it stands still until it is told.

use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use super::{Clock, Trust};
use crate::terms::{Moment, Time, later};

/// A clock that the caller advances.
pub struct ManualClock {
    state: Mutex<(Moment, Trust)>,
}

impl ManualClock {
    /// Stands at `start`, trusted as a rehearsal's clock is.
    pub fn new(start: Time) -> Self {
        let moment = Moment { utc: start, mono: Duration::ZERO, speed: 1.0 };
        Self { state: Mutex::new((moment, Trust::Rehearsal)) }
    }

    /// Both scales go on by `wait`.
    pub fn advance(&self, wait: Duration) {
        let (moment, _) = &mut *self.lock();
        moment.utc = moment.utc_after(wait);
        moment.mono += wait;
    }

    /// The clock is stepped, as a time service does: UTC jumps, the monotonic scale does not.
    pub fn step(&self, seconds: f64) {
        let (moment, _) = &mut *self.lock();
        moment.utc = later(moment.utc, seconds);
    }

    /// From now on the clock says this of itself.
    pub fn set_trust(&self, trust: Trust) {
        self.lock().1 = trust;
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, (Moment, Trust)> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Clock for ManualClock {
    fn now(&self) -> Moment {
        self.lock().0
    }

    fn trust(&self) -> Trust {
        self.lock().1.clone()
    }

    fn is_rehearsal(&self) -> bool {
        self.lock().1 == Trust::Rehearsal
    }
}
