//! `beamhand check`: what the configuration says, or what is wrong with it; and, if asked for,
//! whether the equipment answers.

mod connect;
mod doubts;
mod elements;

use std::path::PathBuf;

use chrono::Utc;
use clap::Args;

use crate::clock::{Clock as _, SystemClock};
use crate::config::{Config, load_satellites};
use crate::daemon::{Catalog, Planner};
use crate::link::{Link, Satellite};
use crate::terms::Time;

use super::Failure;
use super::source::load_config;
use super::text::{plain, show, wrap_at};

pub(super) use elements::age;

/// Say what the configuration means, or what is wrong with it; nothing is moved or tuned
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand check
  beamhand check --config ./beamhand.toml
  beamhand check --connect             opens the ports and reads each device

Without --connect nothing is opened. With it, first turn line keying off in the radio's menu: \
the system raises DTR and RTS for an instant whenever a port is opened, and a radio that keys on \
them would transmit. Only questions are sent, and the greeting of a language that needs one; \
stop the daemon first.

Exit code 0: it can be used; what deserves a second look is a warning. 1: a device did not \
answer. 78: the configuration is refused, every error with its place.")]
pub(super) struct Check {
    /// The configuration [default: yours, else the system's]
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
    /// Open the ports and read each device once, with questions only
    #[arg(long)]
    connect: bool,
    /// With --connect: JSON, one object per device, a line each
    #[arg(long, requires = "connect")]
    json: bool,
}

impl Check {
    pub(super) fn run(self) -> Result<(), Failure> {
        let (config, satellites) = checked(self.config.as_deref())?;
        if self.connect {
            return connect::run(&config, self.json);
        }
        show(findings(&config, satellites))
    }
}

/// What a configuration means, and what of it deserves a second look; nothing is opened.
pub(super) fn findings(config: &Config, satellites: Vec<Satellite>) -> String {
    let mut text: String = config.describe().lines().map(|line| wrap_at(line, 13) + "\n").collect();
    let (catalog, complaints) = Catalog::load(config, satellites);
    let now = Utc::now();
    for satellite in catalog.satellites() {
        let links: Vec<String> = satellite.links.iter().map(|link| hours(link, now)).collect();
        let orbit = elements::of(&catalog, satellite, now);
        text += &wrap_at(&format!("{:<12} {}; {orbit}", satellite.name, links.join(", ")), 13);
        text.push('\n');
    }
    let clock = SystemClock::new(config.clock.clone()).trust();
    let planner = Planner::new(config, catalog.clone());
    let miss = |satellite: &Satellite| elements::miss(&planner, satellite, now);
    let mut doubts = elements::doubts(&catalog, now, &miss);
    doubts.extend(elements::lost(&planner, now));
    doubts.extend(complaints);
    doubts.extend(config.warnings());
    doubts.extend(doubts::ports(config, &|port| port.canonicalize().ok()));
    doubts.extend(doubts::uplinks(config, catalog.satellites()));
    doubts.extend(doubts::harmonics(config, catalog.satellites()));
    doubts.extend(doubts::agenda(config, &catalog));
    doubts.extend(doubts::listening(config, &catalog));
    doubts.extend(doubts::earth(config, now));
    doubts.extend(doubts::clock(&clock));
    doubts.extend(doubts::dialects(config));
    let told = doubts.iter().map(|doubt| wrap_at(&format!("warning      {}", plain(doubt)), 13) + "\n");
    text + &told.collect::<String>()
}

/// A link's name, and whether it is on where that is not always so.
fn hours(link: &Link, now: Time) -> String {
    let hours = match (link.on.is_empty(), link.is_on(now)) {
        (true, _) => "",
        (false, true) => " (at some hours, on now)",
        (false, false) => " (at some hours, off now)",
    };
    format!("{}{hours}", link.name)
}

/// The configuration and its satellites, checked as far as that goes without opening a port.
pub(super) fn checked(path: Option<&std::path::Path>) -> Result<(Config, Vec<Satellite>), Failure> {
    let config = load_config(path)?;
    let satellites = load_satellites(&config.files.satellites)?;
    Ok((config, satellites))
}
