//! `beamhand check`: what the configuration says, or what is wrong with it.

use std::path::PathBuf;

use clap::Args;

use crate::config::{Config, load_satellites};
use crate::daemon::Catalog;
use crate::link::Satellite;

use super::Failure;
use super::source::load_config;
use super::text::{say, show};

/// Say what the configuration means, or what is wrong with it; nothing is opened or moved
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand check
  beamhand check --config ./beamhand.toml

Exit code 0: all is well. 78: the configuration is refused, every error with its place.")]
pub(super) struct Check {
    /// The configuration [default: yours, else the system's]
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

impl Check {
    pub(super) fn run(self) -> Result<(), Failure> {
        let (config, satellites) = checked(self.config.as_deref())?;
        show(config.describe())?;
        let (catalog, complaints) = Catalog::load(&config, satellites);
        for satellite in catalog.satellites() {
            let orbit = match catalog.elements(satellite) {
                Ok(set) => format!("elements of {}", set.epoch.format("%d %b %Y")),
                Err(_) => "no elements: it can't be followed".to_owned(),
            };
            let links: Vec<&str> = satellite.links.iter().map(|link| link.name.as_str()).collect();
            say(format_args!("{:<12} {}; {orbit}", satellite.name, links.join(", ")))?;
        }
        let warnings = config.warnings();
        let mut all = warnings.iter().chain(&complaints);
        all.try_for_each(|warning| say(format_args!("warning      {warning}")))
    }
}

/// The configuration and its satellites, checked as far as that goes without opening a port.
pub(super) fn checked(path: Option<&std::path::Path>) -> Result<(Config, Vec<Satellite>), Failure> {
    let config = load_config(path)?;
    let satellites = load_satellites(&config.files.satellites)?;
    Ok((config, satellites))
}
