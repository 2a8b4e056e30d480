//! Cards for programs.

use serde::Serialize;

use crate::card::{Serves, Setting};
use crate::cli::Failure;
use crate::cli::text::rounded;
use crate::terms::rfc3339;

use super::{Page, Row, link};

/// The machine-readable line; what does not exist is null.
#[derive(Serialize)]
struct Line<'a> {
    satellite: &'a str,
    catalog_number: u32,
    link: &'a str,
    serves: &'static str,
    largest_range_rate_km_s: f64,
    memories: Vec<Channel>,
    aos: String,
    los: String,
    max_elevation_deg: f64,
    changes: Vec<Switch>,
}

#[derive(Serialize)]
struct Channel {
    memory: String,
    arms: bool,
    receive_hz: Option<i64>,
    receive_error_hz: Option<i64>,
    receive_mode: Option<&'static str>,
    transmit_hz: Option<i64>,
    transmit_error_hz: Option<i64>,
    transmit_mode: Option<&'static str>,
    tone_hz: Option<f64>,
}

#[derive(Serialize)]
struct Switch {
    time: String,
    memory: String,
}

fn serves(page: &Page<'_>) -> &'static str {
    match page.serves {
        Serves::Both => "both",
        Serves::Receive => "receive",
        Serves::Transmit => "transmit",
    }
}

fn channel(page: &Page<'_>, row: &Row<'_>) -> Channel {
    let (down, up) = page.modes();
    let (receive, transmit) = (row.memory.receive, row.memory.transmit);
    let hertz = |setting: Setting| setting.hertz.0;
    let error = |setting: Setting| setting.error.0;
    Channel {
        memory: row.name.clone(),
        arms: row.arms.is_some(),
        receive_hz: receive.map(hertz),
        receive_error_hz: receive.map(error),
        receive_mode: receive.map(|_| down.name()),
        transmit_hz: transmit.map(hertz),
        transmit_error_hz: transmit.map(error),
        transmit_mode: transmit.and(up).map(|mode| mode.name()),
        tone_hz: row.tone.map(f64::from),
    }
}

pub(super) fn json(page: &Page<'_>) -> String {
    let pass = &page.job.pass;
    let switches = page.changes.iter();
    let line = Line {
        satellite: &page.job.satellite,
        catalog_number: page.job.track.catalog_number(),
        link: &link(page.job).name,
        serves: serves(page),
        largest_range_rate_km_s: rounded(page.card.largest_km_s),
        memories: page.rows().iter().map(|row| channel(page, row)).collect(),
        aos: rfc3339(page.job.span.from),
        los: rfc3339(page.job.span.until),
        max_elevation_deg: rounded(pass.max_elevation_deg),
        changes: switches
            .map(|change| Switch { time: rfc3339(change.time), memory: (change.memory + 1).to_string() })
            .collect(),
    };
    serde_json::to_string(&line).unwrap_or_default()
}

/// One table of all cards' memories.
pub(super) fn csv(pages: &[Page<'_>]) -> Result<String, Failure> {
    let mut table = csv::Writer::from_writer(Vec::new());
    let failed = |error: &dyn std::fmt::Display| Failure::Failed(error.to_string());
    table
        .write_record([
            "radio",
            "memory",
            "receive_hz",
            "receive_mode",
            "transmit_hz",
            "transmit_mode",
            "tone_hz",
        ])
        .map_err(|error| failed(&error))?;
    for page in pages {
        for row in page.rows() {
            let channel = channel(page, &row);
            let hertz = |hertz: Option<i64>| hertz.map_or(String::new(), |hertz| hertz.to_string());
            table
                .write_record([
                    serves(page),
                    &channel.memory,
                    &hertz(channel.receive_hz),
                    channel.receive_mode.unwrap_or_default(),
                    &hertz(channel.transmit_hz),
                    channel.transmit_mode.unwrap_or_default(),
                    &row.tone.map_or(String::new(), |tone| tone.to_string()),
                ])
                .map_err(|error| failed(&error))?;
        }
    }
    let bytes = table.into_inner().map_err(|error| failed(&error))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
