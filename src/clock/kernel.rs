//! The kernel's account of its own clock. The one unsafe call of the house lives here: none of
//! the safe system-call crates wraps `adjtimex`.

use std::io;

use super::KernelStatus;

/// Asks the kernel, without changing anything; needs no privilege.
#[allow(unsafe_code)]
pub(super) fn status() -> KernelStatus {
    // SAFETY: `timex` is plain integers, for which all-zero is a valid value, and with
    // `modes == 0` the call only writes into the structure that it is given.
    let (answer, timex) = unsafe {
        let mut timex: libc::timex = std::mem::zeroed();
        let answer = libc::adjtimex(&mut timex);
        (answer, timex)
    };
    judged(if answer < 0 { Err(io::Error::last_os_error()) } else { Ok(timex) })
}

fn judged(answer: io::Result<libc::timex>) -> KernelStatus {
    let timex = match answer {
        Ok(timex) => timex,
        Err(error) => return KernelStatus::Unreadable(error.to_string()),
    };
    if timex.status & libc::STA_UNSYNC != 0 {
        return KernelStatus::Unsynchronised;
    }
    KernelStatus::Synchronised { error_s: timex.esterror as f64 * 1e-6 }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;
    use crate::clock::{Trust, TrustPolicy};

    #[test]
    fn the_kernel_answers_something_that_can_be_judged() {
        match status() {
            KernelStatus::Synchronised { error_s } => assert!(error_s >= 0.0),
            KernelStatus::Unsynchronised => {}
            KernelStatus::Unreadable(why) => assert!(!why.is_empty()),
        }
    }

    /// As in a sandbox that forbids the question: that is another thing than a clock that nobody has set.
    #[test]
    fn a_question_that_is_forbidden_is_reported_as_such_and_vouched_for_all_the_same() {
        let status = judged(Err(io::Error::from_raw_os_error(libc::EPERM)));
        let policy = TrustPolicy::default();
        let Trust::Untrusted { why } = policy.judge(&status, None) else { panic!("{status:?} is trusted") };
        assert!(
            why.starts_with("the system does not say how good its clock is: Operation not permitted")
                && why.contains("trust = \"always\""),
            "{why}"
        );
        // What was known before it was forbidden grows by the drift, as without a time service.
        let before = policy.judge(&status, Some((0.01, Duration::from_secs(3600))));
        assert_eq!(
            before,
            policy.judge(&KernelStatus::Unsynchronised, Some((0.01, Duration::from_secs(3600))))
        );
        assert!(before.is_trusted());
        assert!(TrustPolicy { always: true, ..policy }.judge(&status, None).is_trusted());
    }
}
