//! `beamhand report`: what a report of a fault needs, in one text.

mod parts;
mod redact;

use std::path::PathBuf;

use chrono::Utc;
use clap::Args;

use crate::config::{Config, DefaultPaths};
use crate::terms::rfc3339;

use super::Failure;
use super::text::{remark, show};
use redact::May;

/// Gather what a report of a fault needs: one text to send along
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand report                         look at it first
  beamhand report fault.txt               into a file, readable by you only
  beamhand report --with-position fault.txt

Without --with-position the place is rounded to whole degrees, and what it could be worked out \
from is left out: look angles, Doppler, times of rising and setting. Without --with-callsign the \
callsign is left out wherever it stands. The comments of your configuration are never in it. Read \
it before you send it. A whole record is not in it: it holds everything, and you may add it.")]
pub(super) struct Report {
    /// The file; shown if none is named
    #[arg(value_name = "FILE")]
    file: Option<PathBuf>,
    /// Tell where the station is
    #[arg(long)]
    with_position: bool,
    /// Tell the station's callsign
    #[arg(long)]
    with_callsign: bool,
    /// The configuration [default: yours, else the system's]
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

impl Report {
    pub(super) fn run(self) -> Result<(), Failure> {
        let may = May { place: self.with_position, callsign: self.with_callsign };
        let env = |name: &str| std::env::var_os(name);
        let paths = match &self.config {
            Some(path) => DefaultPaths::beside(path, &env),
            None => DefaultPaths::find(&env, &|path| path.exists()),
        };
        let config = Config::load(&paths.config, &paths);
        let text = text(&config, &paths, may);
        let Some(file) = self.file else { return show(text) };
        crate::store::write_atomic(&file, text.as_bytes())
            .map_err(|error| Failure::Failed(format!("{}: {error}", file.display())))?;
        remark(format_args!("{} is written: read it before you send it", file.display()));
        Ok(())
    }
}

/// The report. What can't be had says why; the rest is there all the same.
fn text(config: &Result<Config, crate::config::ConfigErrors>, paths: &DefaultPaths, may: May) -> String {
    let mut all = vec![format!("beamhand report of {}\n", rfc3339(Utc::now()))];
    let mut part = |title: &str, text: String| all.push(format!("== {title}\n{}\n", text.trim_end()));
    part("program", parts::program());
    match config {
        Ok(config) => {
            let hidden = parts::hidden(config, may);
            part("configuration", parts::configuration(config, may));
            part("what it means, and doubts", parts::check(&hidden));
            part("clock", parts::clock(config));
            part("status", parts::status(&config.control.socket, may));
            part("ports", parts::ports(config));
            part("records", parts::records(config, may));
        }
        Err(errors) => {
            let text = "its text is left out: it may hold your position. What is wrong with it:\n";
            part("configuration", text.to_owned() + &parts::errors(errors, may));
            part("status", parts::status(&paths.socket, may));
        }
    }
    part("log", parts::log_hint());
    let text = all.join("\n");
    let callsign = match config {
        Ok(config) => config.station.callsign.clone(),
        // What can't be used may still be read.
        Err(_) => std::fs::read_to_string(&paths.config).ok().and_then(|text| redact::callsign_in(&text)),
    };
    match callsign {
        Some(callsign) if !may.callsign => redact::without_callsign(&text, &callsign),
        _ => text,
    }
}
