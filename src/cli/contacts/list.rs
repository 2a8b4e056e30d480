//! `beamhand contacts list`.

use std::path::Path;

use chrono::{NaiveDate, Utc};
use clap::Args;
use serde::Serialize;

use crate::cli::Failure;
use crate::cli::text::{compass, rounded, say, wall_clock, wrap_at};
use crate::contacts::{Contact, Entry, Log};
use crate::terms::{later, rfc3339};

use super::book::read_log;
use super::words::way;

/// Shows the contacts, with distance and direction along the Earth's ellipsoid
#[derive(Args, Debug)]
pub(super) struct List {
    #[command(flatten)]
    which: Which,
    /// Those that were removed too
    #[arg(long)]
    removed: bool,
    /// One JSON object per contact, a line each
    #[arg(long)]
    json: bool,
}

/// Which contacts are meant.
#[derive(Args, Debug)]
pub(super) struct Which {
    /// Only those of the last days; fractions are good
    #[arg(long, value_name = "N", value_parser = days)]
    days: Option<f64>,
    /// Only those through this satellite, by the name in the log
    #[arg(long, value_name = "NAME")]
    satellite: Option<String>,
}

impl Which {
    /// Those that are meant, in the order of their times.
    pub(super) fn of<'l>(&self, log: &'l Log) -> Vec<(u32, &'l Entry)> {
        let since = self.days.map(|days| later(Utc::now(), -days * 86_400.0));
        let is_meant = |contact: &Contact| {
            let name = contact.satellite.as_deref().unwrap_or_default();
            let is_satellite = self.satellite.as_ref().is_none_or(|wanted| name.eq_ignore_ascii_case(wanted));
            is_satellite && since.is_none_or(|since| contact.time >= since)
        };
        log.entries().into_iter().filter(|(_, entry)| is_meant(&entry.contact)).collect()
    }
}

/// The machine-readable line; what does not exist is null.
#[derive(Serialize)]
struct Line<'a> {
    id: u32,
    time: String,
    callsign: String,
    satellite: Option<&'a str>,
    link: Option<&'a str>,
    receive_hz: Option<i64>,
    transmit_hz: Option<i64>,
    mode: Option<String>,
    sent: Option<&'a str>,
    received: Option<&'a str>,
    locator: Option<String>,
    distance_km: Option<f64>,
    bearing_deg: Option<f64>,
    name: Option<&'a str>,
    note: Option<&'a str>,
    own_callsign: Option<String>,
    own_locator: Option<String>,
    removed: bool,
}

impl List {
    pub(super) fn run(self, path: &Path) -> Result<(), Failure> {
        let log = read_log(path)?;
        let mut found = self.which.of(&log);
        found.retain(|(_, entry)| self.removed || !entry.is_removed);
        if self.json {
            return found.iter().try_for_each(|(id, entry)| say(json(*id, entry)));
        }
        if found.is_empty() {
            return say(format_args!("No contact in {}", path.display()));
        }
        show(&found)
    }
}

fn show(found: &[(u32, &Entry)]) -> Result<(), Failure> {
    say(format_args!(
        "{:>5} {:<5} {:<5} {:<12} {:<10} {:<4} {:<4} {:<4} {:<9} {:>5} bearing",
        "id", "UTC", "local", "callsign", "satellite", "mode", "sent", "rcvd", "locator", "km"
    ))?;
    let mut day: Option<NaiveDate> = None;
    for (id, entry) in found {
        let date = entry.contact.time.date_naive();
        if day.replace(date) != Some(date) {
            say(date.format("%A, %-d %B %Y"))?;
        }
        say(row(*id, entry))?;
        let Contact { name, note, .. } = &entry.contact;
        let words: Vec<&str> = [name, note].into_iter().flatten().map(String::as_str).collect();
        if !words.is_empty() {
            say(wrap_at(&format!("{:18}{}", "", words.join(", ")), 18))?;
        }
    }
    let count = found.iter().filter(|(_, entry)| !entry.is_removed).count();
    let removed = found.len() - count;
    let removed = if removed > 0 { format!(", {removed} removed (marked with -)") } else { String::new() };
    say(format_args!("{count} contact{}{removed}", if count == 1 { "" } else { "s" }))
}

fn row(id: u32, Entry { contact, is_removed }: &Entry) -> String {
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let (km, direction) = way(contact).map_or((String::new(), String::new()), |(km, degrees)| {
        let direction = degrees.map(|degrees| format!("{degrees:3.0} {}", compass(degrees)));
        (format!("{km:.0}"), direction.unwrap_or_default())
    });
    let id = if *is_removed { format!("-{id}") } else { id.to_string() };
    format!(
        "{id:>5} {:<5} {:<5.5} {:<12} {:<10.10} {:<4.4} {:<4.4} {:<4.4} {:<9} {km:>5} {direction}",
        contact.time.format("%H:%M").to_string(),
        wall_clock(contact.time),
        contact.callsign.to_string(),
        text(&contact.satellite),
        contact.mode_name().unwrap_or_default(),
        text(&contact.sent),
        text(&contact.received),
        contact.locator.as_ref().map(ToString::to_string).unwrap_or_default(),
    )
    .trim_end()
    .to_owned()
}

fn json(id: u32, Entry { contact, is_removed }: &Entry) -> String {
    let way = way(contact);
    let line = Line {
        id,
        time: rfc3339(contact.time),
        callsign: contact.callsign.to_string(),
        satellite: contact.satellite.as_deref(),
        link: contact.link.as_deref(),
        receive_hz: contact.receive_hz.map(|hertz| hertz.0),
        transmit_hz: contact.transmit_hz.map(|hertz| hertz.0),
        mode: contact.mode_name(),
        sent: contact.sent.as_deref(),
        received: contact.received.as_deref(),
        locator: contact.locator.as_ref().map(ToString::to_string),
        distance_km: way.map(|(km, _)| rounded(km)),
        bearing_deg: way.and_then(|(_, degrees)| degrees).map(rounded),
        name: contact.name.as_deref(),
        note: contact.note.as_deref(),
        own_callsign: contact.own_callsign.as_ref().map(ToString::to_string),
        own_locator: contact.own_locator.as_ref().map(ToString::to_string),
        removed: *is_removed,
    };
    serde_json::to_string(&line).unwrap_or_default()
}

fn days(text: &str) -> Result<f64, String> {
    crate::cli::text::between(text, 0.0, 100_000.0, "days")
}
