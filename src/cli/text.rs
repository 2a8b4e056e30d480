//! Small things that several verbs print alike.

use std::fmt::Display;
use std::io::{self, Write};

use chrono::{Local, NaiveDateTime};

use crate::terms::{Time, parse_time};

use super::Failure;

/// How wide a screen is taken to be, columns.
const WIDTH: usize = 80;

/// The sixteen compass points, clockwise from north.
const POINTS: [&str; 16] =
    ["N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"];

/// The compass point nearest to an azimuth in degrees.
pub(super) fn compass(azimuth: f64) -> &'static str {
    let index = (azimuth.rem_euclid(360.0) / 22.5).round() as usize % POINTS.len();
    POINTS[index]
}

/// A height in whole degrees, rounded down: what a pass is called by goes by its limits, and a height
/// just below one must not show as that limit.
pub(super) fn height(degrees: f64) -> f64 {
    degrees.floor() + 0.0
}

/// `18:30:05 UTC`.
pub(super) fn utc_clock(time: Time) -> String {
    time.format("%H:%M:%S").to_string()
}

/// `25 Nov 19:30:05`, by the clock on the wall.
pub(super) fn local(time: Time) -> String {
    time.with_timezone(&Local).format("%d %b %H:%M:%S").to_string()
}

/// `18:30:05 UTC`, with the wall's time behind it where that is another one.
pub(super) fn both_clocks(time: Time) -> String {
    let (utc, wall) = (utc_clock(time), wall_clock(time));
    if utc == wall { format!("{utc} UTC") } else { format!("{utc} UTC ({wall} local)") }
}

/// The day by the clock on the wall, and that of UTC where it is another one:
/// `Wednesday, 25 November 2026 (UTC: Thursday, 26 November)`.
pub(super) fn day(time: Time) -> String {
    let wall = time.with_timezone(&Local).date_naive();
    let day = wall.format("%A, %-d %B %Y").to_string();
    if wall == time.date_naive() { day } else { format!("{day} (UTC: {})", time.format("%A, %-d %B")) }
}

/// `19:30:05`, by the clock on the wall.
pub(super) fn wall_clock(time: Time) -> String {
    time.with_timezone(&Local).format("%H:%M:%S").to_string()
}

/// A span of time as the daemon's sentences tell it: `5 min 17 s`.
pub(super) fn duration(seconds: f64) -> String {
    let seconds = seconds.max(0.0).round() as u64;
    match (seconds / 3600, seconds / 60 % 60, seconds % 60) {
        (0, 0, s) => format!("{s} s"),
        (0, m, s) => format!("{m} min {s:02} s"),
        (h, m, _) => format!("{h} h {m:02} min"),
    }
}

/// A time of the command line: RFC 3339, or date and time in UTC as people write them.
pub(super) fn time(text: &str) -> Result<Time, String> {
    let plain = ["%Y-%m-%d %H:%M", "%Y-%m-%d %H:%M:%S"];
    let utc = plain.into_iter().find_map(|form| NaiveDateTime::parse_from_str(text.trim(), form).ok());
    match utc {
        Some(time) => Ok(time.and_utc()),
        None => parse_time(text).map_err(|error| format!("{error}, or \"2026-11-25 18:30\", which is UTC")),
    }
}

/// A number rounded to nine decimals, so that JSON shows no noise of the arithmetic.
pub(super) fn rounded(value: f64) -> f64 {
    (value * 1e9).round() / 1e9
}

/// A number within bounds, for the command line's parser.
pub(super) fn between(text: &str, from: f64, to: f64, unit: &str) -> Result<f64, String> {
    let value: Option<f64> = text.trim().parse().ok();
    let inside = value.filter(|value| (from..=to).contains(value));
    inside.ok_or_else(|| format!("a number from {from} to {to} {unit} is wanted"))
}

/// Prints text that ends its lines itself.
pub(super) fn show(text: impl Display) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    match write!(out, "{text}").and_then(|()| out.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Err(Failure::NobodyReads),
        written => Ok(written?),
    }
}

/// Prints a line.
pub(super) fn say(line: impl Display) -> Result<(), Failure> {
    show(format_args!("{line}\n"))
}

/// A remark on standard error, beside what was asked for. If nobody reads it, that hinders nothing.
pub(super) fn remark(text: impl Display) {
    note(format_args!("beamhand: {text}"));
}

/// As [`remark`], for text that says itself where it comes from.
pub(super) fn note(text: impl Display) {
    let line = format!("{}\n", plain(text.to_string().trim_end()));
    let _ = io::stderr().write_all(line.as_bytes());
}

/// A note of the satellites file: its author's words, marked as such.
pub(super) fn noted(note: &str) -> String {
    format!("note: {note}")
}

/// What the system said, without its own number for it: "No such file or directory (os error 2)".
pub(super) fn plain(message: &str) -> String {
    let mut parts = message.split(" (os error ");
    let mut text = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        text.push_str(part.split_once(')').map_or(part, |(_, rest)| rest));
    }
    text
}

/// A line in pieces of the screen's width, broken at blanks; what follows is set in.
pub(super) fn wrap(line: &str) -> Vec<String> {
    pieces(line, line.len() - line.trim_start().len() + 2)
}

/// The same as one text, with what follows set in by so many columns.
pub(super) fn wrap_at(line: &str, columns: usize) -> String {
    pieces(line, columns).join("\n")
}

fn pieces(line: &str, columns: usize) -> Vec<String> {
    let indent = " ".repeat(columns);
    let mut lines = vec![String::new()];
    for word in line.split_inclusive(' ') {
        let length = lines.last().map_or(0, |last| last.chars().count());
        if length + word.trim_end().chars().count() > WIDTH && length > indent.len() {
            lines.push(indent.clone());
        }
        if let Some(last) = lines.last_mut() {
            last.push_str(word);
        }
    }
    lines.into_iter().map(|line| line.trim_end().to_owned()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_compass_has_sixteen_points() {
        let named: Vec<&str> = [0.0, 11.2, 11.3, 90.0, 180.0, 247.0, 350.0, 359.9, 720.0].map(compass).into();
        assert_eq!(named, ["N", "N", "NNE", "E", "S", "WSW", "N", "N", "N"]);
    }

    #[test]
    fn a_height_is_rounded_down() {
        assert_eq!([14.999, 15.0, 39.5, -0.2, 0.7].map(height), [14.0, 15.0, 39.0, -1.0, 0.0]);
    }

    #[test]
    fn a_span_has_the_form_of_the_daemons_sentences() {
        let told: Vec<String> = [-3.0, 41.4, 317.2, 3600.0, 7384.0].map(duration).into();
        assert_eq!(told, ["0 s", "41 s", "5 min 17 s", "1 h 00 min", "2 h 03 min"]);
    }

    #[test]
    fn a_time_is_rfc_3339_or_date_and_time_in_utc() {
        let wanted = parse_time("2026-11-25T18:30:00Z").unwrap();
        for text in
            ["2026-11-25T18:30:00Z", "2026-11-25 18:30", " 2026-11-25 18:30:00 ", "2026-11-25T19:30:00+01:00"]
        {
            assert_eq!(time(text), Ok(wanted), "{text}");
        }
        let refusal = time("half past six").unwrap_err();
        assert!(refusal.contains("RFC 3339") && refusal.contains("2026-11-25 18:30"), "{refusal}");
    }

    #[test]
    fn the_systems_numbers_are_left_out() {
        let said = "a: No such file or directory (os error 2); copy it";
        assert_eq!(plain(said), "a: No such file or directory; copy it");
        assert_eq!(plain("nothing of the kind"), "nothing of the kind");
    }

    #[test]
    fn no_line_is_wider_than_the_screen() {
        let long = format!("  {}", "a word and another ".repeat(20));
        for line in wrap(&long) {
            assert!(line.chars().count() <= WIDTH, "{line}");
        }
        assert!(wrap_at(&long, 13).lines().skip(1).all(|line| line.starts_with(&" ".repeat(13))));
        assert_eq!(wrap("short"), ["short"]);
        assert_eq!(wrap(""), [""]);
    }
}
