//! From a wish ("this satellite, this link") to a planned pass. Slow: it propagates orbits, and
//! belongs on a thread of its own.

use crate::beam::Mount;
use std::sync::Arc;

use crate::config::{self, Config, load_earth_orientation};
use crate::control::{PassPage, PassesParams, RpcError, StartParams, code};
use crate::link::{Link, Satellite, third_harmonic};
use crate::session::{Job, Wanted};
use crate::sky::{EarthOrientation, ElementSet, Horizon, Station, Track, next_pass, passes_until_lost};
use crate::terms::{AzEl, Direction, Generation, Mode, Time, Validity, later};

use super::equipment::mount;
use super::report::pass_status;
use super::{Catalog, Files, NotInCatalog};

/// How far ahead a pass is looked for, hours.
const LOOK_AHEAD_H: f64 = 72.0;

/// How many passes one page of an answer holds.
const PAGE: usize = 50;

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
    /// Whether the station transmits at all.
    pub transmits: bool,
    /// How long before AOS the devices are prepared, seconds.
    pub prepare_before_s: f64,
    /// What is worked unattended.
    pub agenda: config::Agenda,
    /// What is listened to unattended.
    pub listening: config::Listening,
    /// How fast the mount turns, degrees per second, where there is one.
    pub slew: Option<AzEl>,
    /// What stands around the station, where the file says so.
    pub horizon: Option<Arc<Horizon>>,
    /// How the Earth turns, where there is a file of it.
    pub earth: Option<Arc<EarthOrientation>>,
    /// Files that are read again when they have changed; `None` where the catalog is all there is.
    pub files: Option<Arc<Files>>,
}

/// What is listened to; nothing where no radio receives.
fn heard(config: &Config) -> config::Listening {
    let receives = config.radios.iter().any(|radio| radio.uses.serves(Direction::Receive));
    let mut listening = config.listening.clone();
    listening.satellites.retain(|_| receives);
    listening
}

impl Planner {
    /// For the station that the configuration describes.
    pub fn new(config: &Config, catalog: Catalog) -> Self {
        Self {
            catalog,
            station: config.station.position,
            minimum_elevation: config.station.minimum_elevation,
            mount: config.rotator.as_ref().map(mount),
            transmits: config.transmits(),
            prepare_before_s: config.session.prepare_before_s,
            agenda: config.agenda.clone(),
            listening: heard(config),
            slew: config.rotator.as_ref().map(|rotator| rotator.slew),
            horizon: config.station.horizon.clone(),
            earth: config.files.earth_orientation.as_deref().and_then(|file| {
                load_earth_orientation(file).inspect_err(|said| tracing::warn!("{said}")).ok()
            }),
            files: None,
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
        let (satellite, link) = self.found(satellite, link)?;
        self.planned(satellite, link.clone(), now, plan)
    }

    /// The pass that the operator wants, as it is wanted; else as [`Planner::plan`].
    ///
    /// # Errors
    /// In words for the operator.
    pub fn job(&self, wanted: &StartParams, now: Time, plan: Generation) -> Result<Job, String> {
        let (satellite, link) = self.found(&wanted.satellite, wanted.link.as_deref())?;
        let mut link = link.clone();
        if wanted.fixed_uplink {
            let fm = link.uplink.as_mut().filter(|uplink| uplink.mode == Mode::Fm);
            let name = format!("{} {}", satellite.name, link.name);
            fm.ok_or_else(|| format!("{name} has no FM uplink, and no other can stay where it is"))?.fixed =
                true;
        }
        let job = self.planned(satellite, link, now, plan)?;
        Ok(Job { when_free: wanted.when_free, instead: wanted.instead, ..job })
    }

    pub(super) fn found(&self, satellite: &str, link: Option<&str>) -> Result<(&Satellite, &Link), String> {
        let satellite = self.catalog.satellite(satellite).map_err(|error| error.to_string())?;
        let link = self.catalog.link(satellite, link).map_err(|error| error.to_string())?;
        Ok((satellite, link))
    }

    fn planned(&self, satellite: &Satellite, link: Link, now: Time, plan: Generation) -> Result<Job, String> {
        let track = self.track(satellite)?;
        let pass = next_pass(&track, now, LOOK_AHEAD_H, self.minimum_elevation)
            .map_err(|error| error.to_string())?
            .ok_or_else(|| self.never_up(&satellite.name))?;
        let span = Validity {
            from: pass.aos.unwrap_or(now),
            until: pass.los.unwrap_or_else(|| later(now, LOOK_AHEAD_H * 3600.0)),
        };
        let wanted = Wanted { satellite: satellite.clone(), link, pass, span };
        Ok(self.job_of(wanted, track, plan))
    }

    /// The plans, with what the operator should know.
    pub(super) fn job_of(&self, wanted: Wanted, track: Track, plan: Generation) -> Job {
        let harmonic = third_harmonic(&wanted.link).filter(|_| self.transmits);
        let mut job = Job::plan(wanted, track, self.mount.as_ref(), self.prepare_before_s, plan);
        job.warnings.extend(harmonic.map(|_| {
            "while you transmit, the third harmonic of your own uplink may cover the downlink; `beamhand \
             check` says what helps"
                .to_owned()
        }));
        job
    }

    /// A page of the passes to come, of one satellite or of all, in the order of their AOS.
    ///
    /// # Errors
    /// A satellite that is not known, or hours that make no sense.
    pub fn passes(&self, wanted: &PassesParams, now: Time) -> Result<PassPage, RpcError> {
        let hours = wanted.hours.unwrap_or(24.0);
        if !(0.0..=240.0).contains(&hours) {
            return Err(RpcError::new(code::BAD_PARAMS, "hours must be a number from 0 to 240"));
        }
        let from = wanted.from.unwrap_or(now);
        let not_found = |error: NotInCatalog| RpcError::new(code::NOT_FOUND, error.to_string());
        let satellites = match &wanted.satellite {
            Some(name) => vec![self.catalog.satellite(name).map_err(not_found)?],
            None => self.catalog.satellites().iter().collect(),
        };
        let mut all = Vec::new();
        for satellite in satellites {
            // One that can't be propagated has no passes to show; `look` says why.
            let Ok(track) = self.track(satellite) else { continue };
            let (found, _) = passes_until_lost(&track, from, hours, self.minimum_elevation);
            all.extend(found.iter().map(|pass| pass_status(&satellite.name, satellite.catalog_number, pass)));
        }
        all.sort_by_key(|pass| pass.aos.unwrap_or(from));
        let skip = wanted.skip as usize;
        let next = (all.len() > skip + PAGE).then(|| wanted.skip + PAGE as u32);
        Ok(PassPage { passes: all.into_iter().skip(skip).take(PAGE).collect(), next })
    }

    /// Where a satellite is, as seen from the station.
    ///
    /// # Errors
    /// In words for the operator.
    pub fn track(&self, satellite: &Satellite) -> Result<Track, String> {
        let track = self.plain_track(satellite)?;
        Ok(match &self.horizon {
            Some(horizon) => track.with_horizon(Arc::clone(horizon)),
            None => track,
        })
    }

    /// The same above the plain horizon, whatever stands around the station: what is heard shows that.
    pub(super) fn plain_track(&self, satellite: &Satellite) -> Result<Track, String> {
        let elements = self.catalog.elements(satellite).map_err(|error| error.to_string())?;
        // The operator knows the satellite by the name in the satellites file.
        let elements = ElementSet { name: satellite.name.clone(), ..elements.clone() };
        let mut track = Track::new(&elements, self.station)
            .map_err(|error| error.to_string())?
            .with_misses(self.catalog.misses(satellite));
        if let Some(earth) = &self.earth {
            track = track.with_earth_orientation(Arc::clone(earth));
        }
        Ok(track)
    }

    /// The same with the satellites and elements as the files have them now.
    ///
    /// # Errors
    /// In words for the operator.
    pub fn refreshed(&self) -> Result<Self, String> {
        let Some(files) = &self.files else { return Ok(self.clone()) };
        Ok(Self { catalog: files.catalog()?, ..self.clone() })
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
