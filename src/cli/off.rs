//! How far things may be off, in words.

use crate::clock::{Clock as _, SystemClock, Trust, TrustPolicy};

use super::text::remark;

/// One decimal; what would show as nothing at all is less than that, and not nothing.
pub(super) fn tenths(value: f64) -> String {
    if value > 0.0 && value < 0.05 { "< 0.1".to_owned() } else { format!("{value:.1}") }
}

/// Whole units, likewise.
pub(super) fn whole(value: f64) -> String {
    if value > 0.0 && value < 0.5 { "< 1".to_owned() } else { format!("{value:.0}") }
}

/// Direction, time and frequency, the last one at what is named.
pub(super) fn may_be_off(pointing_deg: f64, timing_s: f64, hertz: f64, at: &str) -> String {
    let (pointing, timing, hertz) = (tenths(pointing_deg), tenths(timing_s), whole(hertz));
    format!("may be off by {pointing} degrees, {timing} s, {hertz} Hz at {at}")
}

/// How far "now" may be off, seconds, by the computer's clock. Where nobody knows, that is said with what
/// comes of it, and the clock's part is left out.
pub(super) fn clock_error_s(policy: TrustPolicy, so: &str) -> f64 {
    let trust = SystemClock::new(policy).trust();
    if let Trust::Untrusted { why } = &trust {
        remark(format_args!("the clock can't be trusted, so {so}: {why}"));
    }
    trust.error_s().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_small_is_not_nothing() {
        assert_eq!([0.0, 0.01, 0.05, 12.34].map(tenths), ["0.0", "< 0.1", "0.1", "12.3"]);
        assert_eq!([0.0, 0.3, 0.5001, 130.2].map(whole), ["0", "< 1", "1", "130"]);
        let told = may_be_off(0.004, 1.25, 0.2, "435 MHz");
        assert_eq!(told, "may be off by < 0.1 degrees, 1.2 s, < 1 Hz at 435 MHz");
    }
}
