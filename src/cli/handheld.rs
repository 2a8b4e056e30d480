//! What the verbs for a person with a handheld share: which satellite and link, which pass, which card.

use std::path::PathBuf;

use chrono::Utc;
use clap::Args;

use crate::card::{Card, NoCard, Serves, Wishes, largest_range_rate, make};
use crate::config::Config;
use crate::daemon::{Catalog, Planner};
use crate::link::Link;
use crate::rehearsal::{demo, demo_evening};
use crate::session::Job;
use crate::terms::{Hertz, Time};

use super::Failure;
use super::check::checked;
use super::text::remark;

/// Options that the verbs share.
#[derive(Args, Debug)]
pub(super) struct Asked {
    /// By name or catalog number
    #[arg(value_name = "SATELLITE")]
    satellite: String,
    /// One of its links [default: the first]
    #[arg(value_name = "LINK")]
    link: Option<String>,
    /// The pass that is on at this time or comes next, RFC 3339 or "2026-11-25 18:30" in UTC
    /// [default: now; an evening of the demo]
    #[arg(long, value_name = "TIME", value_parser = super::text::time)]
    pub(super) at: Option<Time>,
    /// The radio's memories are multiples of this
    #[arg(long, value_name = "STEP", default_value = "5kHz", value_parser = step)]
    pub(super) step: Hertz,
    /// How far off the receiver may be
    #[arg(long, value_name = "HZ", default_value = "2.5kHz", value_parser = step)]
    pub(super) receive_within: Hertz,
    /// How far off the transmitter may be
    #[arg(long, value_name = "HZ", default_value = "5kHz", value_parser = step)]
    pub(super) transmit_within: Hertz,
    /// The configuration [default: yours, else the system's]
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
    /// The embedded demo: invented satellites over an invented station
    #[arg(long, conflicts_with = "config")]
    pub(super) demo: bool,
}

/// The station and its satellites.
pub(super) struct Ground {
    pub(super) config: Config,
    planner: Planner,
}

impl Asked {
    pub(super) fn open(&self) -> Result<Ground, Failure> {
        let (config, catalog) = if self.demo {
            demo()?
        } else {
            let (config, satellites) = checked(self.config.as_deref())?;
            let (catalog, complaints) = Catalog::load(&config, satellites);
            complaints.iter().for_each(remark);
            (config, catalog)
        };
        let planner = Planner::new(&config, catalog);
        Ok(Ground { config, planner })
    }

    /// The pass that is meant.
    pub(super) fn job(&self, ground: &Ground) -> Result<Job, Failure> {
        let at = self.at.or_else(|| self.demo.then(demo_evening)).unwrap_or_else(Utc::now);
        ground.planner.plan(&self.satellite, self.link.as_deref(), at, 1).map_err(Failure::Failed)
    }

    /// The least memories for any pass of the job's satellite.
    pub(super) fn card(&self, ground: &Ground, job: &Job, serves: Serves) -> Result<Card, CardError> {
        let Asked { step, receive_within, transmit_within, .. } = *self;
        let wishes = Wishes { step, receive_within, transmit_within };
        let largest = ground.largest_range_rate(job).map_err(CardError::Elements)?;
        make(link(job), &ground.config.transmit, &wishes, serves, largest).map_err(CardError::None)
    }
}

/// Why there is no card.
pub(super) enum CardError {
    /// The satellite's elements are not there.
    Elements(String),
    /// There can't be one.
    None(NoCard),
}

impl Ground {
    fn largest_range_rate(&self, job: &Job) -> Result<f64, String> {
        let catalog = &self.planner.catalog;
        let satellite = catalog.satellite(&job.satellite).map_err(|error| error.to_string())?;
        let set = catalog.elements(satellite).map_err(|error| error.to_string())?;
        Ok(largest_range_rate(set, &self.planner.station, self.planner.minimum_elevation))
    }
}

/// The link that the job is for.
pub(super) fn link(job: &Job) -> &Link {
    job.tuning.link()
}

/// `5kHz`, `2.5 kHz`, or plain hertz.
fn step(text: &str) -> Result<Hertz, String> {
    let lower = text.trim().to_lowercase();
    let (number, unit) = match (lower.strip_suffix("khz"), lower.strip_suffix("hz")) {
        (Some(number), _) => (number, 1000.0),
        (None, number) => (number.unwrap_or(&lower), 1.0),
    };
    let hertz = number.trim().parse::<f64>().map(|number| number * unit).ok();
    let inside = hertz.filter(|hertz| (100.0..=100_000.0).contains(hertz));
    inside.map(Hertz::rounded).ok_or_else(|| "from 100 Hz to 100 kHz is wanted, for example 5kHz".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_kilohertz_or_plain_hertz() {
        for (text, hertz) in [("5kHz", 5000), ("2.5 kHz", 2500), ("6250", 6250), ("6250 Hz", 6250)] {
            assert_eq!(step(text), Ok(Hertz(hertz)), "{text}");
        }
        for text in ["5", "0.05kHz", "1MHz", "nan", "-5kHz", "five", "101kHz"] {
            assert!(step(text).is_err(), "{text}");
        }
    }
}
