//! Waiting for what happens in real time.

use std::time::{Duration, Instant};

/// Asks until there is an answer; fails if there is none within so many seconds.
#[track_caller]
pub(crate) fn within<T>(seconds: f64, what: &str, mut ask: impl FnMut() -> Option<T>) -> T {
    let deadline = Instant::now() + Duration::from_secs_f64(seconds);
    loop {
        if let Some(answer) = ask() {
            return answer;
        }
        assert!(Instant::now() < deadline, "not within {seconds} s: {what}");
        std::thread::sleep(Duration::from_millis(10));
    }
}

/// Waits until it is so.
#[track_caller]
pub(crate) fn until(seconds: f64, what: &str, mut is_so: impl FnMut() -> bool) {
    within(seconds, what, || is_so().then_some(()));
}

/// Lets time pass in which something must not happen.
pub(crate) fn let_pass(seconds: f64) {
    std::thread::sleep(Duration::from_secs_f64(seconds));
}
