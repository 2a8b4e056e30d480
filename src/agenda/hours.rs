//! When a pass is of use: spans of time, and what cuts them.

use std::convert::Infallible;
use std::fmt;

use chrono::NaiveDateTime;

use crate::link::{Link, Schedule};
use crate::terms::{Time, Validity, seconds_between, spans_where};

use super::SHORTEST_S;

/// Schedules change on whole minutes.
const MINUTE_S: f64 = 60.0;
/// An instant of change is found to this, seconds.
const PRECISION_S: f64 = 0.05;

/// Why nothing of a pass can be worked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unfit {
    /// The link is off.
    Off,
    /// It works in sunlight only, and the satellite is in shadow.
    Shadow,
    /// Quiet hours.
    Quiet,
    /// There is too little of it.
    Short,
}

impl fmt::Display for Unfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Unfit::Off => f.write_str("the link is off at this time"),
            Unfit::Shadow => f.write_str("it works in sunlight only, and is in shadow"),
            Unfit::Quiet => f.write_str("quiet hours"),
            Unfit::Short => write!(f, "less than {:.0} minutes of it are of use", SHORTEST_S / 60.0),
        }
    }
}

/// The parts of a pass in which its link is on, in sunlight where it needs that, and it is not
/// quiet. `sunlit` gives the sunlit parts of a part.
///
/// # Errors
/// Why there is nothing worth working.
pub fn useful(
    pass: Validity,
    link: &Link,
    sunlit: impl Fn(Validity) -> Vec<Validity>,
    quiet: &[Validity],
) -> Result<Vec<Validity>, Unfit> {
    let mut parts = vec![pass];
    if !link.on.is_empty() {
        parts = cut(&parts, Unfit::Off, |part| spans(part, |time| link.is_on(time)))?;
    }
    if link.sunlight_only {
        parts = cut(&parts, Unfit::Shadow, sunlit)?;
    }
    parts = cut(&parts, Unfit::Quiet, |part| without(part, quiet))?;
    let all_s: f64 = parts.iter().map(|part| length_s(*part)).sum();
    if all_s < SHORTEST_S { Err(Unfit::Short) } else { Ok(parts) }
}

fn cut(
    parts: &[Validity],
    why: Unfit,
    rest: impl Fn(Validity) -> Vec<Validity>,
) -> Result<Vec<Validity>, Unfit> {
    let rest: Vec<Validity> = parts.iter().flat_map(|part| rest(*part)).collect();
    if rest.is_empty() { Err(why) } else { Ok(rest) }
}

/// The quiet hours between two instants. `wall` tells what the clock on the wall shows: an hour that
/// it shows twice when summer ends is quiet twice, one that it leaves out never comes.
pub fn quiet_spans(
    hours: &[Schedule],
    within: Validity,
    wall: impl Fn(Time) -> NaiveDateTime,
) -> Vec<Validity> {
    if hours.is_empty() {
        return Vec::new();
    }
    spans(within, |time| {
        let shown = wall(time);
        hours.iter().any(|hours| hours.is_on_by(shown))
    })
}

/// The spans in which a schedule holds; those change on whole minutes.
fn spans(within: Validity, holds: impl Fn(Time) -> bool) -> Vec<Validity> {
    let Ok(spans) = spans_where(within, MINUTE_S, PRECISION_S, |time| Ok::<_, Infallible>(holds(time)));
    spans
}

/// What is left of a span.
fn without(span: Validity, taken: &[Validity]) -> Vec<Validity> {
    let mut rest = vec![span];
    for taken in taken.iter().filter(|taken| taken.from < span.until && span.from < taken.until) {
        rest = rest
            .into_iter()
            .flat_map(|part| {
                let before = Validity { from: part.from, until: part.until.min(taken.from) };
                let after = Validity { from: part.from.max(taken.until), until: part.until };
                [before, after]
            })
            .filter(|part| part.from < part.until)
            .collect();
    }
    rest
}

/// From the first to the last of them.
pub(super) fn window(spans: &[Validity]) -> Option<Validity> {
    Some(Validity { from: spans.first()?.from, until: spans.last()?.until })
}

/// How much of `span` the others cover, seconds.
pub(super) fn common_s(spans: &[Validity], span: Validity) -> f64 {
    let common =
        |part: &Validity| seconds_between(part.from.max(span.from), part.until.min(span.until)).max(0.0);
    spans.iter().map(common).sum()
}

/// Seconds.
pub(super) fn length_s(span: Validity) -> f64 {
    seconds_between(span.from, span.until)
}
