//! From a wish ("this satellite, this link") to a planned pass. Slow: it propagates orbits, and
//! belongs on a thread of its own.

use crate::beam::Mount;
use crate::config::Config;
use crate::session::{Job, Wanted};
use crate::sky::{ElementSet, Station, Track, next_pass};
use crate::terms::{Generation, Time, Validity, later};

use super::Catalog;
use super::equipment::mount;

/// How far ahead a pass is looked for, hours.
const LOOK_AHEAD_H: f64 = 72.0;

/// What every plan of a station needs.
#[derive(Clone)]
pub struct Planner {
    /// The satellites.
    pub catalog: Catalog,
    /// Where the station is.
    pub station: Station,
    /// Passes that stay below are not worked, degrees.
    pub minimum_elevation: f64,
    /// The mount, where there is one.
    pub mount: Option<Mount>,
    /// How long before AOS the devices are prepared, seconds.
    pub prepare_before_s: f64,
}

impl Planner {
    /// For the station that the configuration describes.
    pub fn new(config: &Config, catalog: Catalog) -> Self {
        Self {
            catalog,
            station: config.station.position,
            minimum_elevation: config.station.minimum_elevation,
            mount: config.rotator.as_ref().map(mount),
            prepare_before_s: config.session.prepare_before_s,
        }
    }

    /// The pass of `satellite` in progress at `now`, or its next one, with the plans for `link`.
    ///
    /// # Errors
    /// In words for the operator.
    pub fn plan(
        &self,
        satellite: &str,
        link: Option<&str>,
        now: Time,
        plan: Generation,
    ) -> Result<Job, String> {
        let satellite = self.catalog.satellite(satellite).map_err(|error| error.to_string())?;
        let link = self.catalog.link(satellite, link).map_err(|error| error.to_string())?;
        let track = self.track(satellite)?;
        let pass = next_pass(&track, now, LOOK_AHEAD_H, self.minimum_elevation)
            .map_err(|error| error.to_string())?
            .ok_or_else(|| self.never_up(&satellite.name))?;
        let span = Validity {
            from: pass.aos.unwrap_or(now),
            until: pass.los.unwrap_or_else(|| later(now, LOOK_AHEAD_H * 3600.0)),
        };
        let wanted = Wanted { satellite: satellite.clone(), link: link.clone(), pass, span };
        Ok(Job::plan(wanted, track, self.mount.as_ref(), self.prepare_before_s, plan))
    }

    /// Where a satellite is, as seen from the station.
    ///
    /// # Errors
    /// In words for the operator.
    pub fn track(&self, satellite: &crate::link::Satellite) -> Result<Track, String> {
        let elements = self.catalog.elements(satellite).map_err(|error| error.to_string())?;
        // The operator knows the satellite by the name in the satellites file.
        let elements = ElementSet { name: satellite.name.clone(), ..elements.clone() };
        Track::new(&elements, self.station).map_err(|error| error.to_string())
    }

    fn never_up(&self, name: &str) -> String {
        let above = if self.minimum_elevation > 0.0 {
            format!("{} degrees", self.minimum_elevation)
        } else {
            "the horizon".to_owned()
        };
        format!("{name} does not come above {above} within {LOOK_AHEAD_H:.0} hours")
    }
}
