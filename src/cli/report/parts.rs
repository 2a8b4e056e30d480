//! The parts of a report.

use std::fs;
use std::path::Path;

use crate::clock::{Clock as _, SystemClock, Trust};
use crate::config::{Config, ConfigErrors, load_satellites};
use crate::control::Client;
use crate::daemon::replay;
use crate::record::{Entry, Found, Order, Record, Records, read_file};
use crate::sky::Station;

use crate::cli::record::Telling;
use crate::cli::text::plain;
use crate::cli::{check, ports as cli_ports};

use super::redact::{self, May, record_name, without_numbers};

/// So many of the newest record's last lines are in a report.
const LAST_LINES: usize = 200;
/// So many of its last sentences are, where its bytes are not.
const LAST_SENTENCES: usize = 40;

/// The program and what it runs on.
pub(super) fn program() -> String {
    let read =
        |file: &str| fs::read_to_string(file).ok().map(|text| text.trim_matches(['\0', '\n']).to_owned());
    let release = read("/etc/os-release").unwrap_or_default();
    let release = release.lines().find_map(|line| line.strip_prefix("PRETTY_NAME="));
    let kernel = read("/proc/sys/kernel/osrelease");
    let board = read("/sys/firmware/devicetree/base/model");
    let memory = read("/proc/meminfo").and_then(|text| text.lines().next().map(str::to_owned));
    let known =
        |what: &str, is: Option<String>| format!("{what:<10} {}\n", is.as_deref().unwrap_or("not known"));
    known("version", Some(env!("CARGO_PKG_VERSION").to_owned()))
        + &known("processor", Some(std::env::consts::ARCH.to_owned()))
        + &known("system", release.map(|name| name.trim_matches('"').to_owned()))
        + &known("kernel", kernel)
        + &known("board", board)
        + &known("memory", memory)
}

/// The same station as far as it may be told where it is, and who.
pub(super) fn hidden(config: &Config, may: May) -> Config {
    let mut hidden = config.clone();
    if !may.callsign {
        hidden.station.callsign = None;
    }
    if !may.place {
        let at = config.station.position;
        let whole = |degrees: f64| degrees.round();
        let metres = (at.altitude_m() / 100.0).round() * 100.0;
        // Rounded, a place stays within what a place may be.
        let rounded = Station::new(whole(at.latitude_deg()), whole(at.longitude_deg()), metres);
        hidden.station.position = rounded.unwrap_or(at);
        (hidden.station.locator, hidden.station.horizon) = (None, None);
    }
    hidden
}

pub(super) fn configuration(config: &Config, may: May) -> String {
    let text = redact::configuration(&config.texts.configuration, may);
    let text = text.unwrap_or_else(|| "its settings can't be told without its comments".to_owned());
    let own = config.texts.dialects.iter().map(|(name, text)| {
        let text = redact::dialect(text).unwrap_or_else(|| "it is no TOML\n".to_owned());
        format!("\n-- own dialect {name}\n{text}")
    });
    text + &own.collect::<String>()
}

/// What `beamhand check` says.
pub(super) fn check(config: &Config) -> String {
    match load_satellites(&config.files.satellites) {
        Ok(satellites) => check::findings(config, satellites),
        Err(errors) => format!("{}the satellites file is refused:\n{errors}", config.describe()),
    }
}

/// What is wrong with a configuration; what is wrong with the place is named by its line only.
pub(super) fn errors(errors: &ConfigErrors, may: May) -> String {
    let told = errors.iter().map(|error| {
        let text = error.to_string();
        if may.place || !redact::PLACE.iter().any(|key| text.contains(key)) {
            return text + "\n";
        }
        format!("line {}: the station's place\n", error.at.line)
    });
    told.collect()
}

pub(super) fn clock(config: &Config) -> String {
    match SystemClock::new(config.clock.clone()).trust() {
        Trust::Trusted { error_s: Some(error_s) } => format!("trusted, with {error_s:.6} s of error"),
        Trust::Trusted { error_s: None } | Trust::Rehearsal => {
            "trusted, as the configuration says".to_owned()
        }
        Trust::Untrusted { why } => format!("not trusted: {why}"),
    }
}

/// The daemon's status now.
pub(super) fn status(socket: &Path, may: May) -> String {
    let status = Client::connect(socket).and_then(|mut client| client.status());
    let status = match status {
        Ok(status) => serde_json::to_value(status).map_err(|error| error.to_string()),
        Err(why) => Err(why.to_string()),
    };
    match status {
        Ok(mut status) => {
            redact::status(&mut status, may);
            serde_json::to_string_pretty(&status).unwrap_or_default()
        }
        Err(why) => plain(&why),
    }
}

pub(super) fn ports(config: &Config) -> String {
    cli_ports::described(config)
}

/// The records' names, what the newest one ended with, and whether it plays again the same.
pub(super) fn records(config: &Config, may: May) -> String {
    let records = Records::in_folder(&config.files.state);
    let all = match records.all() {
        Ok(all) => all,
        Err(error) => return format!("{}: {error}", records.folder().display()),
    };
    let Some(newest) = all.last() else { return "none".to_owned() };
    let listed = all
        .iter()
        .map(|Found { name, bytes, .. }| format!("{} {} kB\n", record_name(name, may), bytes.div_ceil(1000)));
    let text: String = listed.collect();
    text + &match read_file(&newest.file) {
        Ok(record) => last(&record, may),
        Err(_) => "the newest can't be read\n".to_owned(),
    }
}

fn last(record: &Record, may: May) -> String {
    let played = match replay(record) {
        Ok(played) if played.is_empty() => "it can't be played again".to_owned(),
        Ok(played) if played.differs() => {
            let lines = played.machines.iter().flat_map(|machine| &machine.differences);
            let lines: Vec<String> = lines.map(|differs| format!("line {}", differs.line)).collect();
            format!("played again it is not the same: {}", lines.join(", "))
        }
        Ok(_) => "played again it is the same".to_owned(),
        Err(why) => why,
    };
    let gaps = if record.is_whole() { "" } else { ", with gaps" };
    let torn = if record.is_torn { ", torn at its end" } else { "" };
    let version = &record.head.version;
    let head = format!("\nthe newest, of version {version}{gaps}{torn}; {played}; its last lines:\n");
    head + &if may.place { whole_lines(record) } else { sentences(record) }
}

fn whole_lines(record: &Record) -> String {
    let mut telling = Telling::of(&record.head);
    let mut lines: Vec<String> = record.entries.iter().flat_map(|(_, entry)| telling.lines(entry)).collect();
    lines.extend(telling.rest());
    let from = lines.len().saturating_sub(LAST_LINES);
    lines[from..].join("\n")
}

/// What the session said and how the devices were, without numbers: they could tell the place.
fn sentences(record: &Record) -> String {
    let mut told: Vec<String> = Vec::new();
    for (_, entry) in &record.entries {
        let orders = match entry {
            Entry::Act(act) => act.decision.did.as_slice(),
            Entry::Tick(decision) => decision.did.as_slice(),
            Entry::Reading { device, contact, .. } => {
                told.push(without_numbers(&format!("{device}: {contact}")));
                continue;
            }
            Entry::Lost { why, .. } => {
                told.push(format!("entries are missing: {why}"));
                continue;
            }
            _ => continue,
        };
        let said =
            orders.iter().filter_map(|order| if let Order::Say(what) = order { Some(what) } else { None });
        told.extend(said.map(|what| without_numbers(what)));
    }
    told.dedup();
    let from = told.len().saturating_sub(LAST_SENTENCES);
    told[from..].join("\n")
}

pub(super) fn log_hint() -> String {
    "not in this report, because its lines may tell where the station is. As a service:\n  \
     journalctl -u beamhand --since \"-1 day\"\nBEAMHAND_LOG=debug in the daemon's environment has it say more."
        .to_owned()
}
