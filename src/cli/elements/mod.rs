//! `beamhand elements`: the element sets that the station has, and how it gets new ones.

mod import;
mod list;
mod update;

use std::path::PathBuf;

use clap::{Args, Subcommand};

use crate::almanac::{Shelf, Tally};
use crate::config::Config;

use super::Failure;
use super::text::{remark, say};

/// What orbits the station has, and how it gets new ones
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand elements list                 what there is, how old, and where from
  beamhand elements import seabirds.xml  takes in a file, in any form
  beamhand elements update               fetches from the configuration's sources

Of each satellite the newest set counts. What is taken in never takes anything away. A running \
daemon notices it by itself, when it plans the next pass.")]
pub(super) struct Elements {
    #[command(subcommand)]
    what: What,
    /// The configuration [default: yours, else the system's]
    #[arg(long, value_name = "FILE", global = true)]
    config: Option<PathBuf>,
}

#[derive(Subcommand, Debug)]
enum What {
    Import(import::Import),
    List(list::List),
    Update(update::Update),
}

impl Elements {
    pub(super) fn run(self) -> Result<(), Failure> {
        let config = super::source::load_config(self.config.as_deref())?;
        match self.what {
            What::Import(import) => import.run(&config),
            What::List(list) => list.run(&config),
            What::Update(update) => update.run(&config),
        }
    }
}

/// The almanac's files, fit to be changed: one that can't be understood is set aside, and named.
fn mended_shelf(config: &Config) -> Result<Shelf, Failure> {
    let shelf = Shelf::in_folder(&config.files.state);
    for said in shelf.mend().map_err(Failure::Failed)? {
        remark(said);
    }
    Ok(shelf)
}

/// Says what became of a file's sets, what is bad of it counted as one each; the parts add up.
fn tell(source: &str, tally: Tally, refused: usize) -> Result<(), Failure> {
    let Tally { new, newer, known, ahead, lost } = tally;
    let refused = refused + lost;
    let all = new + newer + known + ahead + refused;
    let parts = [
        (newer, "newer than before"),
        (new, "of satellites that were not there"),
        (known, "no newer than what is there, which stays"),
        (ahead, "for a time more than 30 days ahead and left out"),
        (refused, "bad and left out"),
    ];
    let told: Vec<String> =
        parts.iter().filter(|(count, _)| *count > 0).map(|(count, what)| format!("{count} {what}")).collect();
    say(super::text::wrap_at(&format!("{source}: {all} sets: {}", told.join(", ")), 2))
}
