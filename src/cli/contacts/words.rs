//! A contact in words, and what people write of one.

use chrono::{NaiveTime, Utc};

use crate::cli::text::{both_clocks, compass, time};
use crate::contacts::Contact;
use crate::sky::{bearing_deg, distance_km};
use crate::terms::{Time, later};

/// The longest note that is taken, characters (our choice).
const LONGEST_TEXT: usize = 500;
/// The longest report.
const LONGEST_REPORT: usize = 10;

/// All of it in one sentence, without its end.
pub(in crate::cli) fn sentence(contact: &Contact) -> String {
    let day = contact.time.format("%-d %b %Y");
    let mut parts = vec![format!("{} on {day} at {}", contact.callsign, both_clocks(contact.time))];
    let path = [contact.satellite.clone(), contact.link.clone(), contact.mode_name()];
    let path: Vec<String> = path.into_iter().flatten().collect();
    parts.extend((!path.is_empty()).then(|| path.join(" ")));
    parts.extend(contact.receive_hz.map(|hertz| format!("receive {hertz}")));
    parts.extend(contact.transmit_hz.map(|hertz| format!("transmit {hertz}")));
    parts.extend(contact.sent.as_ref().map(|report| format!("sent {report}")));
    parts.extend(contact.received.as_ref().map(|report| format!("received {report}")));
    parts.extend(contact.locator.as_ref().map(|locator| match way(contact) {
        Some((km, Some(degrees))) => {
            format!("{locator} ({km:.0} km, {degrees:.0} degrees, {})", compass(degrees))
        }
        _ => locator.to_string(),
    }));
    parts.extend(contact.name.clone());
    parts.extend(contact.note.clone());
    let own = [contact.own_callsign.as_ref().map(ToString::to_string)];
    let place = contact.own_locator.as_ref().map(|locator| format!("in {locator}"));
    let own: Vec<String> = own.into_iter().chain([place]).flatten().collect();
    parts.extend((!own.is_empty()).then(|| format!("here {}", own.join(" "))));
    parts.join(", ")
}

/// How far the other station is, km, and in which direction, where both places are known.
pub(super) fn way(contact: &Contact) -> Option<(f64, Option<f64>)> {
    let (here, there) = (contact.own_locator.as_ref()?.middle(), contact.locator.as_ref()?.middle());
    Some((distance_km(&here, &there), bearing_deg(&here, &there)))
}

/// A name or a note: one line.
pub(in crate::cli) fn line(text: &str) -> Result<String, String> {
    let text = text.trim();
    if let Some(at) = text.chars().position(char::is_control) {
        return Err(format!("character {} is a line's end or another sign that does not show", at + 1));
    }
    let fits = !text.is_empty() && text.chars().count() <= LONGEST_TEXT;
    fits.then(|| text.to_owned()).ok_or_else(|| format!("from 1 to {LONGEST_TEXT} characters are wanted"))
}

/// A report: a word, such as 59, 599 or -12.
pub(in crate::cli) fn report(text: &str) -> Result<String, String> {
    let text = line(text)?;
    let fits = text.chars().count() <= LONGEST_REPORT && !text.contains(char::is_whitespace);
    fits.then_some(text)
        .ok_or_else(|| format!("a report is a word of at most {LONGEST_REPORT} characters, such as 59"))
}

/// A time of the command line; the hour alone is the last that it was, in UTC.
pub(in crate::cli) fn at(text: &str) -> Result<Time, String> {
    let hour =
        ["%H:%M", "%H:%M:%S"].iter().find_map(|form| NaiveTime::parse_from_str(text.trim(), form).ok());
    hour.map_or_else(|| time(text), |hour| Ok(last(hour, Utc::now())))
}

fn last(hour: NaiveTime, now: Time) -> Time {
    let today = now.date_naive().and_time(hour).and_utc();
    if today > now { later(today, -86_400.0) } else { today }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::parse_time;

    #[test]
    fn an_hour_alone_is_the_last_that_it_was() {
        let now = parse_time("2026-11-25T18:40:00Z").unwrap();
        let at = |hour: &str| last(NaiveTime::parse_from_str(hour, "%H:%M").unwrap(), now);
        assert_eq!(at("18:38"), parse_time("2026-11-25T18:38:00Z").unwrap());
        assert_eq!(at("18:41"), parse_time("2026-11-24T18:41:00Z").unwrap());
    }
}
