//! Passes as a calendar (RFC 5545).

use std::collections::HashMap;

use crate::cli::text::{compass, height, utc_clock};
use crate::terms::Time;

use super::Found;
use super::table::words;

/// Octets in a line, without its end (section 3.1).
const LINE: usize = 75;

/// A pass is known again by the quarter of an hour that its closest point falls into: newer elements
/// move its event and make no second one, unless that point lies within seconds of a quarter.
const QUARTER_S: i64 = 900;

/// A whole calendar, made at `stamp`; only whole passes are events.
pub(super) fn calendar(found: &[Found<'_>], stamp: Time) -> String {
    let mut text = String::new();
    let mut put = |name: &str, value: &str| text.push_str(&folded(&format!("{name}:{value}")));
    put("BEGIN", "VCALENDAR");
    put("VERSION", "2.0");
    put("PRODID", concat!("-//Beamhand//Beamhand ", env!("CARGO_PKG_VERSION"), "//EN"));
    let mut taken = HashMap::new();
    for one in found {
        let (Some(aos), Some(los)) = (one.pass.aos, one.pass.los) else { continue };
        let uid = uid(one);
        let count = taken.entry(uid.clone()).and_modify(|count| *count += 1).or_insert(1);
        let part = if *count > 1 { format!("-{count}") } else { String::new() };
        put("BEGIN", "VEVENT");
        put("UID", &format!("{uid}{part}@beamhand.invalid"));
        put("DTSTAMP", &utc(stamp));
        put("DTSTART", &utc(aos));
        put("DTEND", &utc(los));
        put("SUMMARY", &escaped(&summary(one)));
        put("DESCRIPTION", &escaped(&description(one)));
        put("TRANSP", "TRANSPARENT");
        put("END", "VEVENT");
    }
    put("END", "VCALENDAR");
    text
}

fn uid(found: &Found<'_>) -> String {
    let quarter = found.pass.tca.timestamp().div_euclid(QUARTER_S) * QUARTER_S;
    let slot = chrono::DateTime::from_timestamp(quarter, 0).unwrap_or(found.pass.tca);
    format!("pass-{}-{}", found.track.catalog_number(), utc(slot))
}

fn summary(found: &Found<'_>) -> String {
    let height = format!("{:.0} degrees", height(found.pass.max_elevation_deg));
    format!(
        "{}: {}, {height} {}",
        found.track.name(),
        found.grade.name(),
        compass(found.pass.highest_azimuth_deg)
    )
}

fn description(found: &Found<'_>) -> String {
    let pass = &found.pass;
    let towards = |azimuth: Option<f64>| azimuth.map_or("-", compass);
    let mut lines = vec![format!(
        "Rises {}, highest at {} UTC, sets {}",
        towards(pass.aos_azimuth_deg),
        utc_clock(pass.highest),
        towards(pass.los_azimuth_deg)
    )];
    lines.extend(words(found));
    for dials in found.dials.iter().flatten() {
        lines.extend(dials.sentences());
    }
    lines.join("\n")
}

/// To the second, as the form has it (section 3.3.5).
fn utc(time: Time) -> String {
    time.format("%Y%m%dT%H%M%SZ").to_string()
}

/// Section 3.3.11; other control characters are not allowed in a text.
fn escaped(text: &str) -> String {
    let mut escaped = String::new();
    for character in text.chars() {
        match character {
            '\\' | ';' | ',' => escaped.extend(['\\', character]),
            '\n' => escaped.push_str("\\n"),
            control if control.is_control() => {}
            plain => escaped.push(plain),
        }
    }
    escaped
}

/// In pieces of at most [`LINE`] octets, never within a character; each but the first begins with a
/// blank.
fn folded(line: &str) -> String {
    let (mut text, mut length) = (String::new(), 0);
    for character in line.chars() {
        if length + character.len_utf8() > LINE {
            text.push_str("\r\n ");
            length = 1;
        }
        text.push(character);
        length += character.len_utf8();
    }
    text + "\r\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_would_end_a_value_is_escaped_and_what_would_break_it_left_out() {
        assert_eq!(escaped("a, b; c\\d\r\ne\u{7}"), "a\\, b\\; c\\\\d\\ne");
    }

    #[test]
    fn a_line_is_folded_at_75_octets_and_never_within_a_character() {
        assert_eq!(folded(&"x".repeat(75)), format!("{}\r\n", "x".repeat(75)));
        assert_eq!(folded(&"x".repeat(76)), format!("{}\r\n x\r\n", "x".repeat(75)));
        // The continuation's blank counts: 75 + 74 + 1.
        let long = folded(&"x".repeat(150));
        assert_eq!(long, format!("{}\r\n {}\r\n x\r\n", "x".repeat(75), "x".repeat(74)));
        // Two octets each, after one of one: 1 + 37 x 2 = 75.
        assert_eq!(folded(&format!("x{}", "é".repeat(38))), format!("x{}\r\n é\r\n", "é".repeat(37)));
    }
}
