//! UTC instants and the few sums that the house does with them.

use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};

/// An instant in UTC. Leap seconds are not represented: the kernel's clock has none either.
pub type Time = DateTime<Utc>;

/// A text that is no instant.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{0}\" is no time: write it as RFC 3339, for example 2026-11-25T18:30:00Z")]
pub struct TimeError(String);

/// Seconds from `from` to `to`; negative when `to` is the earlier one. Resolved to a microsecond.
pub fn seconds_between(from: Time, to: Time) -> f64 {
    let nanoseconds = |time: Time| f64::from(time.timestamp_subsec_nanos());
    (to.timestamp() - from.timestamp()) as f64 + (nanoseconds(to) - nanoseconds(from)) * 1e-9
}

/// The instant `seconds` after `time` (before it, when negative), at the ends of what a `Time`
/// can hold if the sum lies outside, and `time` itself if `seconds` is not a number.
pub fn later(time: Time, seconds: f64) -> Time {
    let nanoseconds = (seconds * 1e9).round();
    let delta = if nanoseconds.abs() < 9.2e18 {
        TimeDelta::nanoseconds(nanoseconds as i64)
    } else if seconds.is_nan() {
        TimeDelta::zero()
    } else {
        TimeDelta::try_milliseconds((seconds * 1e3) as i64).unwrap_or(TimeDelta::MAX)
    };
    let end = if seconds < 0.0 { Time::MIN_UTC } else { Time::MAX_UTC };
    time.checked_add_signed(delta).unwrap_or(end)
}

/// `time` as RFC 3339 in UTC with milliseconds: `2026-11-25T18:30:00.000Z`.
pub fn rfc3339(time: Time) -> String {
    time.to_rfc3339_opts(SecondsFormat::Millis, true)
}

/// Reads an RFC 3339 instant, in UTC or with an offset.
pub fn parse_time(text: &str) -> Result<Time, TimeError> {
    DateTime::parse_from_rfc3339(text.trim())
        .map(|time| time.with_timezone(&Utc))
        .map_err(|_| TimeError(text.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn adding_and_taking_away_agree() {
        let start = parse_time("2026-11-25T18:30:00Z").unwrap();
        for seconds in [0.0, 0.001, -0.25, 86_400.5, -1e9] {
            let sum = later(start, seconds);
            assert!((seconds_between(start, sum) - seconds).abs() < 1e-6, "{seconds}");
        }
    }

    #[test]
    fn an_impossible_sum_stops_at_the_ends() {
        let start = parse_time("2026-11-25T18:30:00Z").unwrap();
        assert_eq!(later(start, f64::INFINITY), Time::MAX_UTC);
        assert_eq!(later(start, f64::NEG_INFINITY), Time::MIN_UTC);
        assert_eq!(later(start, f64::NAN), start);
        assert!(later(start, 1e11) > start);
    }

    #[test]
    fn times_are_written_with_milliseconds_and_read_with_any_offset() {
        let time = parse_time("2026-11-25T19:30:00.25+01:00").unwrap();
        assert_eq!(rfc3339(time), "2026-11-25T18:30:00.250Z");
        assert!(parse_time("25 November").unwrap_err().to_string().contains("RFC 3339"));
    }
}
