//! When something in a rehearsal begins and ends: `120s` or `120s-150s`, after its clock's start.

use std::str::FromStr;

/// Seconds after the clock's start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Span {
    pub(super) from_s: f64,
    /// Later than `from_s`; `None`: to the end.
    pub(super) until_s: Option<f64>,
}

impl FromStr for Span {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (from, until) = text.split_once('-').map_or((text, None), |(from, until)| (from, Some(until)));
        let (from_s, until_s) = (seconds(from)?, until.map(seconds).transpose()?);
        if until_s.is_some_and(|until_s| until_s <= from_s) {
            return Err(format!("{text}: it would end before it begins"));
        }
        Ok(Self { from_s, until_s })
    }
}

fn seconds(text: &str) -> Result<f64, String> {
    let number = text.strip_suffix('s').unwrap_or(text).parse().ok();
    number
        .filter(|seconds| (0.0..=1e6).contains(seconds))
        .ok_or_else(|| format!("\"{text}\" is no time: write seconds after the clock's start, as in 120s"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_has_a_beginning_and_perhaps_an_end() {
        let span = |text: &str| text.parse::<Span>().ok().map(|span| (span.from_s, span.until_s));
        assert_eq!(span("120s"), Some((120.0, None)));
        assert_eq!(span("60s-90.5s"), Some((60.0, Some(90.5))));
        assert_eq!(span("60-90"), Some((60.0, Some(90.0))));
        for wrong in ["", "s", "-5s", "90s-60s", "60s-60s", "1e9s", "NaN", "60s-", "ten"] {
            assert_eq!(span(wrong), None, "{wrong}");
        }
    }
}
