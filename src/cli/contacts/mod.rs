//! `beamhand contacts`: the log of contacts.

mod book;
mod edit;
mod export;
mod import;
mod list;
mod remove;
mod words;

use std::path::PathBuf;

use clap::{Args, Subcommand};

use crate::config::{Config, load_satellites};
use crate::contacts::adif::Names;

use super::Failure;
use super::source::load_any_config;

pub(super) use book::{Book, log_path};
pub(super) use words::{at, line, report, sentence};

/// The log of contacts: list it, mend it, exchange it
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand contacts list --days 7
  beamhand contacts edit 12 --locator KP20LG --note \"\"    the note is taken off
  beamhand contacts remove 12              `restore 12` brings it back
  beamhand contacts export --adif log.adi
  beamhand contacts import old.adi         what is there already is passed over

`beamhand contact CALLSIGN` writes one down. The log is a file of yours, to which lines are only ever \
added: an edit or a removal is one more line. Nothing is sent anywhere.")]
pub(super) struct Contacts {
    #[command(subcommand)]
    what: Verb,
    /// The log [default: the configuration's, else yours]
    #[arg(long, value_name = "FILE", global = true)]
    log: Option<PathBuf>,
    /// The configuration [default: yours, else the system's]
    #[arg(long, value_name = "FILE", global = true)]
    config: Option<PathBuf>,
}

#[derive(Subcommand, Debug)]
enum Verb {
    List(list::List),
    Edit(Box<edit::Edit>),
    Remove(remove::Remove),
    Restore(remove::Restore),
    Export(export::Export),
    Import(import::Import),
}

impl Contacts {
    pub(super) fn run(self) -> Result<(), Failure> {
        let config = load_any_config(self.config.as_deref())?;
        let log = log_path(self.log.as_deref(), config.as_ref())?;
        match self.what {
            Verb::List(list) => list.run(&log),
            Verb::Edit(edit) => edit.run(&log),
            Verb::Remove(remove) => remove.run(&log),
            Verb::Restore(restore) => restore.run(&log),
            Verb::Export(export) => export.run(&log, &names(config.as_ref())?),
            Verb::Import(import) => import.run(&log, &names(config.as_ref())?),
        }
    }
}

/// The satellites' names of the exchange.
fn names(config: Option<&Config>) -> Result<Names, Failure> {
    let Some(config) = config else { return Ok(Names::default()) };
    let satellites = load_satellites(&config.files.satellites)?;
    let pairs =
        satellites.into_iter().filter_map(|satellite| Some((satellite.name, satellite.exchange_name?)));
    Ok(Names::new(pairs))
}
