//! The kernel's account of its own clock. The one unsafe call of the house lives here: none of
//! the safe system-call crates wraps `adjtimex`.

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
    if answer < 0 {
        return KernelStatus::Unreadable(std::io::Error::last_os_error().to_string());
    }
    if timex.status & libc::STA_UNSYNC != 0 {
        return KernelStatus::Unsynchronised;
    }
    KernelStatus::Synchronised { error_s: timex.esterror as f64 * 1e-6 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_kernel_answers_something_that_can_be_judged() {
        match status() {
            KernelStatus::Synchronised { error_s } => assert!(error_s >= 0.0),
            KernelStatus::Unsynchronised => {}
            KernelStatus::Unreadable(why) => assert!(!why.is_empty()),
        }
    }
}
