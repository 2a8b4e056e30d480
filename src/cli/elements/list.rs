//! `beamhand elements list`.

use std::collections::BTreeMap;

use chrono::Utc;
use clap::Args;
use serde::Serialize;

use crate::almanac::{Record, Shelf};
use crate::cli::check::age;
use crate::cli::text::{remark, say};
use crate::config::{Config, load_satellites};
use crate::daemon::{Known, known_sets, newest};
use crate::link::Satellite;
use crate::terms::{Time, rfc3339, seconds_between};

use super::Failure;

/// Shows what element sets there are, how old they are and where they came from
#[derive(Args, Debug)]
pub(super) struct List {
    /// Every set that the station has, not only those of its satellites
    #[arg(long)]
    all: bool,
    /// One JSON object per satellite, a line each
    #[arg(long)]
    json: bool,
}

/// The machine-readable line; what does not exist is null.
#[derive(Serialize)]
struct Line<'a> {
    satellite: &'a str,
    catalog_number: u32,
    epoch: Option<String>,
    age_s: Option<f64>,
    source: Option<&'a str>,
    came: Option<String>,
}

/// Widths of the columns: the longest age is such as "23 months in the future".
const NAME: usize = 18;
const AGE: usize = 23;
const SOURCE: usize = 13;

/// One satellite, by the name that the user knows it under.
struct Row<'a> {
    name: &'a str,
    number: u32,
    known: Option<&'a Known>,
}

impl List {
    pub(super) fn run(self, config: &Config) -> Result<(), Failure> {
        let satellites = load_satellites(&config.files.satellites)?;
        let (known, complaints) = known_sets(config);
        complaints.iter().for_each(remark);
        let newest = newest(&known);
        let mut rows: Vec<Row<'_>> = satellites.iter().map(|satellite| own(satellite, &newest)).collect();
        if self.all {
            let is_own = |number: u32| satellites.iter().any(|own| own.catalog_number == number);
            let others = newest.iter().filter(|(number, _)| !is_own(**number));
            rows.extend(others.map(|(number, known)| Row {
                name: &known.set.name,
                number: *number,
                known: Some(known),
            }));
        }
        let now = Utc::now();
        if self.json {
            return rows.iter().try_for_each(|row| say(json(row, now)));
        }
        say(format_args!("{:<NAME$} {:>9}  {:<AGE$} {:<12} from", "satellite", "number", "age", "came"))?;
        rows.iter().try_for_each(|row| say(text(row, now)))?;
        let is_cut = |row: &Row<'_>| {
            cut(row.name, NAME) != row.name
                || row.known.is_some_and(|known| cut(&known.source, SOURCE) != known.source)
        };
        if rows.iter().any(is_cut) {
            say("... a longer name is cut; --json has it whole")?;
        }
        let records = Shelf::in_folder(&config.files.state).records().map_err(Failure::Failed)?;
        config.sources.iter().try_for_each(|source| {
            let record = records.iter().find(|record| record.name == source.name);
            say(format_args!("source {:<13.13} {}", source.name, source_state(record, now)))
        })
    }
}

fn own<'a>(satellite: &'a Satellite, newest: &BTreeMap<u32, &'a Known>) -> Row<'a> {
    let number = satellite.catalog_number;
    Row { name: &satellite.name, number, known: newest.get(&number).copied() }
}

fn json(row: &Row<'_>, now: Time) -> String {
    let line = Line {
        satellite: row.name,
        catalog_number: row.number,
        epoch: row.known.map(|known| rfc3339(known.set.epoch)),
        age_s: row.known.map(|known| seconds_between(known.set.epoch, now).round()),
        source: row.known.map(|known| known.source.as_str()),
        came: row.known.and_then(|known| known.came).map(rfc3339),
    };
    serde_json::to_string(&line).unwrap_or_default()
}

fn text(row: &Row<'_>, now: Time) -> String {
    let Row { name, number, known } = row;
    let name = cut(name, NAME);
    let Some(known) = known else {
        return format!("{name:<NAME$} {number:>9}  none: it can't be followed");
    };
    let age = age(seconds_between(known.set.epoch, now) / 86_400.0);
    let came = known.came.map_or("-".to_owned(), |came| format!("{} ago", span(came, now)));
    format!("{name:<NAME$} {number:>9}  {age:<AGE$} {came:<12} {}", cut(&known.source, SOURCE))
}

/// As many characters as there is room for; what is cut shows it.
fn cut(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_owned();
    }
    text.chars().take(width - 3).chain("...".chars()).collect()
}

fn source_state(record: Option<&Record>, now: Time) -> String {
    let asked = record.and_then(|record| Some((record, record.asked?)));
    let Some((record, asked)) = asked else { return "was never asked".to_owned() };
    let good = match record.good {
        Some(good) if good == asked => "and gave".to_owned(),
        Some(good) => format!("the last good answer {} ago gave", span(good, now)),
        None => return format!("asked {} ago, without a good answer", span(asked, now)),
    };
    format!("asked {} ago, {good} {} sets", span(asked, now), record.sets)
}

/// A span up to now, in its one largest unit.
fn span(from: Time, now: Time) -> String {
    let seconds = seconds_between(from, now).max(0.0);
    match seconds {
        _ if seconds < 3600.0 => format!("{:.0} min", (seconds / 60.0).floor()),
        _ if seconds < 48.0 * 3600.0 => format!("{:.0} h", (seconds / 3600.0).floor()),
        _ => format!("{:.0} days", (seconds / 86_400.0).floor()),
    }
}
