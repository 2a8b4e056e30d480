//! `beamhand record list`.

use clap::Args;
use serde::Serialize;

use crate::cli::text::{remark, say};
use crate::record::{Entry, Found, Head, Record, read_file};
use crate::terms::rfc3339;

use super::{Failure, Place};

/// The records that there are, the oldest first
#[derive(Args, Debug)]
pub(super) struct List {
    /// One JSON object per record, a line each
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Line<'a> {
    name: &'a str,
    file: String,
    bytes: u64,
    begun: String,
    satellite: &'a str,
    link: &'a str,
    version: &'a str,
    seconds: f64,
    whole: bool,
    outcome: Option<&'a str>,
}

impl List {
    pub(super) fn run(self, place: &Place) -> Result<(), Failure> {
        let records = place.records()?;
        let folder = records.folder().display().to_string();
        let all = records.all().map_err(|error| Failure::Failed(format!("{folder}: {error}")))?;
        if all.is_empty() && !self.json {
            return say(format_args!("no records in {folder}"));
        }
        if !self.json {
            say(format_args!("{:<42} {:>7} {:>8}  outcome", "name", "kB", "min:s"))?;
        }
        for found in &all {
            match read_file(&found.file) {
                Ok(record) => say(if self.json { json(found, &record) } else { text(found, &record) })?,
                // The other ones are shown all the same.
                Err(why) => remark(why),
            }
        }
        Ok(())
    }
}

fn text(found: &Found, record: &Record) -> String {
    let seconds = seconds(record) as u64;
    let (minutes, seconds) = (seconds / 60, seconds % 60);
    let kilobytes = found.bytes.div_ceil(1000);
    let outcome = outcome(record).unwrap_or("it has no end");
    let gaps = if record.is_whole() { "" } else { ", with gaps" };
    let line = format!("{:<42} {kilobytes:>7} {minutes:>5}:{seconds:02}  {outcome}{gaps}", found.name);
    line.chars().take(80).collect()
}

fn json(found: &Found, record: &Record) -> String {
    let Head { begun, satellite, link, version, .. } = &record.head;
    let line = Line {
        name: &found.name,
        file: found.file.display().to_string(),
        bytes: found.bytes,
        begun: rfc3339(*begun),
        satellite,
        link,
        version,
        seconds: seconds(record),
        whole: record.is_whole(),
        outcome: outcome(record),
    };
    serde_json::to_string(&line).unwrap_or_default()
}

/// How long it is.
fn seconds(record: &Record) -> f64 {
    let moments = record.entries.iter().filter_map(|(_, entry)| Some(entry.at()?.seconds()));
    moments.fold(0.0, f64::max)
}

fn outcome(record: &Record) -> Option<&str> {
    record.entries.iter().rev().find_map(|(_, entry)| match entry {
        Entry::Outcome { state, .. } => Some(state.as_str()),
        _ => None,
    })
}
