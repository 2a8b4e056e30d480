//! The system's clock.

use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use chrono::Utc;

use super::{Clock, KernelStatus, Trust, TrustPolicy, kernel};
use crate::terms::Moment;

/// The system's clock, judged by the kernel's own account of it.
pub struct SystemClock {
    started: Instant,
    policy: TrustPolicy,
    last_good: Mutex<Option<(f64, Instant)>>,
}

impl SystemClock {
    /// Starts the monotonic scale at zero.
    pub fn new(policy: TrustPolicy) -> Self {
        Self { started: Instant::now(), policy, last_good: Mutex::new(None) }
    }
}

impl Clock for SystemClock {
    fn now(&self) -> Moment {
        Moment { utc: Utc::now(), mono: self.started.elapsed(), speed: 1.0 }.to_microseconds()
    }

    fn trust(&self) -> Trust {
        let status = kernel::status();
        let mut last_good = self.last_good.lock().unwrap_or_else(PoisonError::into_inner);
        if let KernelStatus::Synchronised { error_s } = status {
            *last_good = Some((error_s, Instant::now()));
        }
        let since = last_good.map(|(error_s, when)| (error_s, when.elapsed()));
        self.policy.judge(&status, since.filter(|(_, age)| *age > Duration::ZERO))
    }

    fn is_rehearsal(&self) -> bool {
        false
    }
}
