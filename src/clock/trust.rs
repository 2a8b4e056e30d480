//! Whether the time is good enough to move anything by.

use std::time::Duration;

/// What a clock says of itself.
#[derive(Debug, Clone, PartialEq)]
pub enum Trust {
    /// Good to about this many seconds.
    Trusted {
        /// Estimated error, seconds; `None` where the configuration vouches for the clock.
        error_s: Option<f64>,
    },
    /// A rehearsal's clock: its time is right by definition.
    Rehearsal,
    /// Not good enough to start a session.
    Untrusted {
        /// What was seen, in words.
        why: String,
    },
}

impl Trust {
    /// Whether a session may be started.
    pub fn is_trusted(&self) -> bool {
        !matches!(self, Trust::Untrusted { .. })
    }

    /// How far the time may be off, seconds: nothing where somebody vouches for it, and `None` where
    /// nobody knows.
    pub fn error_s(&self) -> Option<f64> {
        match self {
            Trust::Trusted { error_s } => Some(error_s.unwrap_or_default()),
            Trust::Rehearsal => Some(0.0),
            Trust::Untrusted { .. } => None,
        }
    }
}

/// The kernel's own account of its clock.
#[derive(Debug, Clone, PartialEq)]
pub enum KernelStatus {
    /// Disciplined by a time service.
    Synchronised {
        /// The kernel's estimate of the error, seconds.
        error_s: f64,
    },
    /// No time service has set it, or it lost it.
    Unsynchronised,
    /// The kernel would not say (some sandboxes forbid even the question).
    Unreadable(String),
}

/// How the configuration wants the kernel's word to be taken.
#[derive(Debug, Clone, PartialEq)]
pub struct TrustPolicy {
    /// Trust the clock whatever the kernel says (a station with its own GPS time, say).
    pub always: bool,
    /// Largest estimated error that may start a session, seconds.
    pub error_limit_s: f64,
    /// How fast an unsynchronised clock is taken to wander, seconds per second.
    pub drift: f64,
}

impl Default for TrustPolicy {
    /// Half a second, which is half a degree at worst; 50 ppm, a plain crystal (common practice).
    fn default() -> Self {
        Self { always: false, error_limit_s: 0.5, drift: 50e-6 }
    }
}

impl TrustPolicy {
    /// Judges the kernel's status. `last_good` is the error at the last moment when it was
    /// synchronised, and the monotonic time since.
    pub fn judge(&self, status: &KernelStatus, last_good: Option<(f64, Duration)>) -> Trust {
        if self.always {
            return Trust::Trusted { error_s: None };
        }
        let error_s = match (status, last_good) {
            (KernelStatus::Synchronised { error_s }, _) => *error_s,
            (_, Some((error_s, since))) => error_s + self.drift * since.as_secs_f64(),
            (KernelStatus::Unsynchronised, None) => {
                return untrusted(
                    "no time service has set the clock since the computer started, says the system",
                );
            }
            (KernelStatus::Unreadable(why), None) => {
                return untrusted(&format!("the system does not say how good its clock is: {why}"));
            }
        };
        if error_s <= self.error_limit_s {
            return Trust::Trusted { error_s: Some(error_s) };
        }
        untrusted(&format!("it may be wrong by {error_s:.2} s, and the limit is {:.2} s", self.error_limit_s))
    }
}

fn untrusted(why: &str) -> Trust {
    let remedy = "see `timedatectl`, or vouch for the clock: [clock] trust = \"always\"";
    Trust::Untrusted { why: format!("{why}; {remedy}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn policy() -> TrustPolicy {
        TrustPolicy::default()
    }

    #[test]
    fn a_synchronised_clock_is_trusted_within_the_limit() {
        let good = KernelStatus::Synchronised { error_s: 0.01 };
        assert_eq!(policy().judge(&good, None), Trust::Trusted { error_s: Some(0.01) });
        let bad = KernelStatus::Synchronised { error_s: 0.7 };
        assert!(!policy().judge(&bad, None).is_trusted());
    }

    #[test]
    fn a_clock_that_was_never_set_is_not_trusted_unless_vouched_for() {
        assert!(!policy().judge(&KernelStatus::Unsynchronised, None).is_trusted());
        let vouched = TrustPolicy { always: true, ..policy() };
        assert!(vouched.judge(&KernelStatus::Unsynchronised, None).is_trusted());
    }

    #[test]
    fn hours_without_a_time_service_add_up() {
        let hours = |h: u64| Some((0.01, Duration::from_secs(3600 * h)));
        assert!(policy().judge(&KernelStatus::Unsynchronised, hours(2)).is_trusted());
        assert!(!policy().judge(&KernelStatus::Unsynchronised, hours(3)).is_trusted());
    }
}
