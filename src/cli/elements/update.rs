//! `beamhand elements update`.

use chrono::Utc;
use clap::Args;

use crate::almanac::{Limits, Outcome, PAUSE_S, Source, update};
use crate::cli::text::{both_clocks, duration, remark, say, wrap_at};
use crate::config::Config;
use crate::terms::seconds_between;

use super::{Failure, mended_shelf, tell};
use crate::cli::source::name_refused;

/// Fetches new element sets from the configuration's sources
#[derive(Args, Debug)]
#[command(after_help = "\
A source is asked at most once in two hours; only for what has changed, where it can tell. A bad \
answer, such as a web page or half a file, changes nothing.")]
pub(super) struct Update {}

impl Update {
    pub(super) fn run(self, config: &Config) -> Result<(), Failure> {
        if config.sources.is_empty() {
            return Err(Failure::Failed(format!(
                "{} names no place to fetch from: add an [[elements.source]]",
                config.file.display()
            )));
        }
        let shelf = mended_shelf(config)?;
        let mut failed = Vec::new();
        for source in &config.sources {
            let outcome = update(&shelf, source, Utc::now(), Limits::default()).map_err(Failure::Failed)?;
            if let Outcome::Failed(why) = &outcome {
                remark(format_args!("{}: {}: {why}", source.name, source.url));
                failed.push(source.name.as_str());
            }
            say_outcome(source, outcome)?;
        }
        if failed.is_empty() {
            return Ok(());
        }
        Err(Failure::Failed(format!("nothing was taken from {}; what was there stays", failed.join(", "))))
    }
}

fn say_outcome(source: &Source, outcome: Outcome) -> Result<(), Failure> {
    let name = &source.name;
    match outcome {
        Outcome::Failed(_) => Ok(()),
        Outcome::NotModified => say(format_args!("{name}: nothing has changed there")),
        Outcome::Taken(tally, refused) => {
            name_refused(name, &refused);
            tell(name, tally, refused.len())
        }
        Outcome::TooSoon(next) => {
            let ago = duration(PAUSE_S - seconds_between(Utc::now(), next));
            let next = both_clocks(next);
            let line = format!("{name}: was asked {ago} ago, and is not again before {next}");
            say(wrap_at(&line, 2))
        }
    }
}
