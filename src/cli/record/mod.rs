//! `beamhand record`: the flight records of past sessions.

mod list;
mod play;
mod show;
mod telling;

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};

use crate::record::{Found, Records};

use super::Failure;
pub(super) use telling::Telling;

/// What happened in past sessions: show it, or play it again
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand record list
  beamhand record show last              all that happened, for people
  beamhand record show last --decisions  without the bytes on the lines
  beamhand record replay last            does this version still do the same?
  beamhand record replay ./a-record.jsonl

A record holds the whole configuration, with position and callsign: think before you pass one on.")]
pub(super) struct Record {
    #[command(subcommand)]
    what: What,
    /// The configuration [default: yours, else the system's]
    #[arg(long, value_name = "FILE", global = true)]
    config: Option<PathBuf>,
}

#[derive(Subcommand, Debug)]
enum What {
    List(list::List),
    Show(show::Show),
    Replay(play::Replay),
}

/// Which record is meant.
#[derive(Args, Debug)]
struct Wanted {
    /// A name from the list, or a part of it; `last` for the newest; or a file
    #[arg(value_name = "NAME|last|FILE")]
    name: String,
}

impl Record {
    pub(super) fn run(self) -> Result<(), Failure> {
        let place = Place(self.config);
        match self.what {
            What::List(list) => list.run(&place),
            What::Show(show) => show.run(&place),
            What::Replay(replay) => replay.run(&place),
        }
    }
}

/// Where records are: beside what else the configuration keeps.
struct Place(Option<PathBuf>);

impl Place {
    fn records(&self) -> Result<Records, Failure> {
        let config = super::source::load_config(self.0.as_deref())?;
        Ok(Records::in_folder(&config.files.state))
    }
}

impl Wanted {
    /// The record; for a file no configuration is needed.
    fn find(&self, place: &Place) -> Result<Found, Failure> {
        let file = Path::new(&self.name);
        if self.name.contains('/') || file.is_file() {
            let data = file.metadata().map_err(|error| Failure::Failed(format!("{}: {error}", self.name)))?;
            let name = file.file_stem().unwrap_or_default().to_string_lossy().into_owned();
            return Ok(Found { name, file: file.to_owned(), bytes: data.len() });
        }
        place.records()?.find(&self.name).map_err(Failure::Failed)
    }
}
