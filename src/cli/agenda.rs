//! `beamhand agenda`: what would be worked unattended, and why.

use std::path::PathBuf;

use chrono::{Local, Utc};
use clap::Args;
use serde::Serialize;

use crate::agenda::Entry;
use crate::config::Config;
use crate::control::LookErrors;
use crate::daemon::{Catalog, Planner};
use crate::terms::{Segments, Time, rfc3339};

use super::Failure;
use super::check::checked;
use super::hindrance::{Share, allowed, of_uplink};
use super::off::{clock_error_s, may_be_off};
use super::text::{height, remark, rounded, say, wrap_at};

/// What `auto` works in the hours to come, and why
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand agenda                      the next 24 hours
  beamhand agenda --hours 72
  beamhand agenda --json               one JSON object per entry, a line each

\"+\" is worked, \"~\" only listened to, \"-\" left out. The list of [agenda] is gone through from the top: each \
satellite gets the most minutes that those before it leave, and equally important ones share so \
that together they get the most. A pass is cut short only for one that is at least as important. \
The mount's way from one pass to the next is counted in; less than two minutes are not worth it. \
This reads the files alone: a session in progress is not known here, `beamhand status` shows it.")]
pub(super) struct Agenda {
    /// How far to look; fractions are good
    #[arg(long, value_name = "N", default_value_t = 24.0, value_parser = hours)]
    #[arg(allow_negative_numbers = true)]
    hours: f64,
    /// Where it begins, RFC 3339 or "2026-11-25 18:30" in UTC [default: now]
    #[arg(long, value_name = "TIME", value_parser = super::text::time)]
    from: Option<Time>,
    /// One JSON object per entry, a line each
    #[arg(long)]
    json: bool,
    /// The configuration [default: yours, else the system's]
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

/// The machine-readable line; what does not exist is null.
#[derive(Serialize)]
struct Line<'a> {
    satellite: &'a str,
    link: &'a str,
    chosen: bool,
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    listens: bool,
    from: String,
    until: String,
    useful_s: f64,
    prepare_at: Option<String>,
    aos: Option<String>,
    los: Option<String>,
    max_elevation_deg: f64,
    pointing_error_deg: Option<f64>,
    timing_error_s: Option<f64>,
    frequency_error_hz: Option<f64>,
    may_transmit: Option<bool>,
    why: &'a str,
}

impl Agenda {
    pub(super) fn run(self) -> Result<(), Failure> {
        let (config, satellites) = checked(self.config.as_deref())?;
        let (catalog, complaints) = Catalog::load(&config, satellites);
        let from = self.from.unwrap_or_else(Utc::now);
        let planner = Planner::new(&config, catalog);
        let outlook = planner.outlook(from, self.hours, None);
        for complaint in complaints.iter().chain(&outlook.complaints) {
            remark(complaint);
        }
        if outlook.agenda.entries.is_empty() && is_empty(&config) && !self.json {
            return say("The agenda is empty: `satellites` in [agenda] of the configuration is its list.");
        }
        let so = "`auto` begins nothing, and the errors shown are without its part";
        let clock_error_s = clock_error_s(config.clock, so);
        let entries = outlook.agenda.entries.iter();
        let rows: Vec<Row<'_>> = entries
            .map(|entry| Row {
                entry,
                errors: planner.errors(entry, clock_error_s),
                allowed: uplink(&planner, entry, &config.transmit),
            })
            .collect();
        if self.json {
            return rows.iter().try_for_each(|row| say(json(row)));
        }
        self.show_table(&rows, &config.transmit)
    }

    fn show_table(&self, rows: &[Row<'_>], segments: &Segments) -> Result<(), Failure> {
        if rows.is_empty() {
            return say(format_args!("No pass of the agenda's satellites within {} hours.", self.hours));
        }
        // The day of UTC is told where it is not the wall's.
        let width = if rows.iter().any(|row| utc_day(row.entry).is_some()) { UTC + DAY } else { UTC };
        say(format_args!(
            "  {:<20} {:<9} {:<width$} {:>4} {:>3}  why",
            "satellite", "local", "UTC", "min", "el"
        ))?;
        for Row { entry, errors, allowed } in rows {
            say(wrap_at(&row(entry, width), WHY_AT + width))?;
            if let Some(errors) = errors.filter(|_| entry.is_chosen()) {
                let LookErrors { pointing_error_deg, timing_error_s, frequency_error_hz, .. } = errors;
                let told = may_be_off(pointing_error_deg, timing_error_s, frequency_error_hz, "the downlink");
                say(format_args!("    {told}"))?;
            }
            if let Some(words) = of_uplink(*allowed, segments).filter(|_| entry.is_chosen()) {
                say(format_args!("    {words}"))?;
            }
        }
        if rows.iter().any(|row| row.entry.listens) {
            say("  ~ is only listened to")?;
        }
        say("  + is worked, - is left out; min: useful minutes; el: degrees at the highest")
    }
}

fn is_empty(config: &Config) -> bool {
    config.agenda.satellites.is_empty() && config.listening.satellites.is_empty()
}

/// An entry, with how far its pass may be off where it is highest, and for how much of it the transmitter
/// may follow.
struct Row<'a> {
    entry: &'a Entry,
    errors: Option<LookErrors>,
    allowed: Option<Share>,
}

fn uplink(planner: &Planner, entry: &Entry, segments: &Segments) -> Option<Share> {
    let satellite = planner.catalog.satellite(&entry.satellite).ok()?;
    let link = planner.catalog.link(satellite, Some(&entry.link)).ok()?;
    allowed(&planner.track(satellite).ok()?, link, entry.span, segments)
}

/// Widths of the column of UTC, and of a day before it; how many columns are beside it up to the reason.
const UTC: usize = 11;
const DAY: usize = 4;
const WHY_AT: usize = 44;

fn utc_day(entry: &Entry) -> Option<String> {
    let begins = entry.span.from;
    let is_same = begins.with_timezone(&Local).date_naive() == begins.date_naive();
    (!is_same).then(|| begins.format("%a ").to_string())
}

fn row(entry: &Entry, width: usize) -> String {
    let name: String = format!("{} {}", entry.satellite, entry.link).chars().take(20).collect();
    let sign = match (entry.is_chosen(), entry.listens) {
        (true, true) => '~',
        (true, false) => '+',
        (false, _) => '-',
    };
    let to_the_minute = |time: Time| time.format("%H:%M").to_string();
    let utc = format!(
        "{}{}-{}",
        utc_day(entry).unwrap_or_default(),
        to_the_minute(entry.span.from),
        to_the_minute(entry.span.until)
    );
    let wall = entry.span.from.with_timezone(&Local).format("%a %H:%M").to_string();
    format!(
        "{sign} {name:<20} {wall:<9} {utc:<width$} {:>4.1} {:>3.0}  {}",
        entry.useful_s / 60.0,
        height(entry.pass.max_elevation_deg),
        entry.why
    )
}

fn json(Row { entry, errors, allowed }: &Row<'_>) -> String {
    let error = |pick: fn(&LookErrors) -> f64| errors.as_ref().map(pick);
    let line = Line {
        satellite: &entry.satellite,
        link: &entry.link,
        chosen: entry.is_chosen(),
        listens: entry.listens,
        from: rfc3339(entry.span.from),
        until: rfc3339(entry.span.until),
        useful_s: rounded(entry.useful_s),
        prepare_at: entry.prepare_at.map(rfc3339),
        aos: entry.pass.aos.map(rfc3339),
        los: entry.pass.los.map(rfc3339),
        max_elevation_deg: rounded(entry.pass.max_elevation_deg),
        pointing_error_deg: error(|errors| errors.pointing_error_deg),
        timing_error_s: error(|errors| errors.timing_error_s),
        frequency_error_hz: error(|errors| errors.frequency_error_hz),
        may_transmit: allowed.map(|share| share == Share::All),
        why: &entry.why,
    };
    serde_json::to_string(&line).unwrap_or_default()
}

fn hours(text: &str) -> Result<f64, String> {
    super::text::between(text, 0.0, 240.0, "hours")
}
