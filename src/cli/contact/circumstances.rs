//! What is filled in: the satellite, its link and the dials, from the daemon or from the sky.

use crate::config::{Config, load_satellites};
use crate::contacts::{Sight, Squares};
use crate::control::{DialStatus, State, Status};
use crate::daemon::{Catalog, Planner};
use crate::link::{Link, Satellite};
use crate::sky::{Geodetic, Look, Station, Track, elevation_deg, next_pass};
use crate::terms::{Hertz, Mode, Time, later};

use crate::cli::Failure;
use crate::cli::text::remark;

/// So long after it has set, a contact is still the pass's: it takes a while to write it down, seconds.
const JUST_SET_S: f64 = 120.0;

/// From here on a satellite counts as up, degrees: refraction lifts it by as much at the horizon.
const UP_DEG: f64 = -0.6;

/// What the command line says of it.
pub(super) struct Asked<'a> {
    pub(super) satellite: Option<&'a str>,
    pub(super) link: Option<&'a str>,
    pub(super) from: Option<&'a Squares>,
}

/// What is known of a contact besides who it was with.
pub(super) struct Circumstances {
    pub(super) time: Time,
    pub(super) satellite: String,
    pub(super) link: Option<String>,
    pub(super) receive_hz: Option<Hertz>,
    pub(super) transmit_hz: Option<Hertz>,
    pub(super) mode: Option<Mode>,
    pub(super) sight: Option<Sight>,
    /// What the operator should know of them.
    pub(super) remarks: Vec<String>,
}

/// From what the daemon follows; `None` if that is nothing, or not what was asked for.
pub(super) fn by_status(
    status: &Status,
    asked: &Asked<'_>,
    config: Option<&Config>,
) -> Option<Circumstances> {
    let (satellite, pass) = (status.satellite.as_ref()?, status.pass.as_ref()?);
    let is_worked = matches!(status.state, State::Following | State::Finishing | State::Halted);
    let until = pass.los.map(|los| later(los, JUST_SET_S));
    let is_on =
        pass.aos.is_none_or(|aos| aos <= status.time) && until.is_none_or(|until| status.time <= until);
    let is_it = asked.satellite.is_none_or(|wanted| {
        wanted.eq_ignore_ascii_case(satellite) || wanted.parse() == Ok(pass.catalog_number)
    });
    let link = status.link.as_deref();
    let is_link = asked.link.is_none_or(|wanted| link.is_some_and(|link| link.eq_ignore_ascii_case(wanted)));
    if !(is_worked && is_on && is_it && is_link) {
        return None;
    }
    let sight = status.look.map(|look| {
        let place = Geodetic {
            latitude_deg: look.latitude_deg,
            longitude_deg: look.longitude_deg,
            altitude_km: look.altitude_km,
        };
        let here = asked.from.map_or(look.elevation_deg, |from| elevation_deg(&place, &from.middle()));
        Sight { satellite: place, elevation_deg: here, pass: pass.aos.zip(until) }
    });
    let mut found = Circumstances {
        time: status.time,
        satellite: satellite.clone(),
        link: status.link.clone(),
        receive_hz: None,
        transmit_hz: None,
        mode: None,
        sight,
        remarks: Vec::new(),
    };
    let dial = |pick: fn(&crate::control::RadioStatus) -> Option<DialStatus>| {
        status.radios.iter().find_map(pick).filter(|dial| dial.dial_hz.is_some())
    };
    let (receive, transmit) = (dial(|radio| radio.receive), dial(|radio| radio.transmit));
    found.receive_hz = receive.and_then(|dial| dial.dial_hz);
    found.transmit_hz = transmit.and_then(|dial| dial.dial_hz);
    found.mode = transmit.and_then(|dial| dial.mode).or_else(|| receive.and_then(|dial| dial.mode));
    let published = config.and_then(|config| {
        let all = load_satellites(&config.files.satellites).ok()?;
        all.into_iter().find(|known| known.catalog_number == pass.catalog_number)
    });
    if let Some(link) = published.as_ref().and_then(|known| known.link(found.link.as_deref()?)) {
        found.fill(link);
    }
    Some(found)
}

impl Circumstances {
    /// What no dial told, as published.
    fn fill(&mut self, link: &Link) {
        self.receive_hz = self.receive_hz.or(Some(link.downlink));
        self.transmit_hz = self.transmit_hz.or(link.uplink.map(|uplink| uplink.hertz));
        self.mode = self.mode.or(Some(link.uplink.map_or(link.mode, |uplink| uplink.mode)));
        if link.uplink.is_none() {
            self.remarks.push(format!("{} {} has no uplink", self.satellite, link.name));
        }
    }
}

/// From elements and configuration: the satellite that is named, or the only one that was up.
pub(super) fn by_sky(
    asked: &Asked<'_>,
    time: Time,
    config: Option<&Config>,
) -> Result<Circumstances, Failure> {
    let Some(config) = config else {
        return Err(Failure::Failed(
            "there is no configuration, which says where you are and what satellites there are (README, step \
             5); name one with --config"
                .to_owned(),
        ));
    };
    let (catalog, complaints) = Catalog::load(config, load_satellites(&config.files.satellites)?);
    complaints.iter().for_each(remark);
    let sky = Sky { planner: Planner::new(config, catalog), from: asked.from, time };
    let satellite = match asked.satellite {
        Some(name) => {
            sky.planner.catalog.satellite(name).map_err(|error| Failure::Failed(error.to_string()))?
        }
        None => sky.only_one_up()?,
    };
    let named = asked.link.or_else(|| uplink(satellite, time).map(|link| link.name.as_str()));
    let link =
        sky.planner.catalog.link(satellite, named).map_err(|error| Failure::Failed(error.to_string()))?;
    let mut found = Circumstances {
        time,
        satellite: satellite.name.clone(),
        link: Some(link.name.clone()),
        receive_hz: None,
        transmit_hz: None,
        mode: None,
        sight: None,
        remarks: Vec::new(),
    };
    match sky.sight(satellite) {
        Ok(sight) => found.sight = Some(sight),
        Err(why) => found.remarks.push(format!("whether it was up can't be told: {why}")),
    }
    found.fill(link);
    Ok(found)
}

/// The first of a satellite's links that can be worked, before all one that was on.
fn uplink(satellite: &Satellite, time: Time) -> Option<&Link> {
    let workable = || satellite.links.iter().filter(|link| link.uplink.is_some());
    workable().find(|link| link.is_on(time)).or_else(|| workable().next())
}

struct Sky<'a> {
    planner: Planner,
    from: Option<&'a Squares>,
    time: Time,
}

impl Sky<'_> {
    fn track(&self, satellite: &Satellite) -> Result<Track, String> {
        let track = self.planner.track(satellite)?;
        let Some(from) = self.from else { return Ok(track) };
        let place = from.middle();
        let station = Station::new(place.latitude_deg, place.longitude_deg, 0.0);
        Ok(track.seen_from(station.map_err(|error| error.to_string())?))
    }

    /// Whether it was up, or had just set.
    fn was_up(&self, satellite: &Satellite) -> bool {
        let up_at = |track: &Track, time| track.topocentric(time).is_ok_and(|at| at.elevation_deg > UP_DEG);
        let times = [self.time, later(self.time, -JUST_SET_S)];
        self.track(satellite).is_ok_and(|track| times.iter().any(|time| up_at(&track, *time)))
    }

    fn only_one_up(&self) -> Result<&Satellite, Failure> {
        let workable =
            self.planner.catalog.satellites().iter().filter(|one| uplink(one, self.time).is_some());
        let up: Vec<&Satellite> = workable.filter(|satellite| self.was_up(satellite)).collect();
        // One that was switched on comes before those that were not.
        let is_on = |one: &&&Satellite| uplink(one, self.time).is_some_and(|link| link.is_on(self.time));
        let on: Vec<&Satellite> = up.iter().filter(is_on).copied().collect();
        let clock = self.time.format("%Y-%m-%d %H:%M:%S UTC");
        match (&up[..], &on[..]) {
            ([one], _) | (_, [one]) => Ok(one),
            ([], _) => Err(Failure::Failed(format!(
                "none of your satellites with an uplink was up at {clock}: name one with --satellite, or the \
                 time with --at"
            ))),
            _ => {
                let names: Vec<&str> = up.iter().map(|satellite| satellite.name.as_str()).collect();
                Err(Failure::Failed(format!(
                    "{} were up at {clock}: name one with --satellite",
                    names.join(" and ")
                )))
            }
        }
    }

    fn sight(&self, satellite: &Satellite) -> Result<Sight, String> {
        let track = self.track(satellite)?;
        let Look { elevation_deg, latitude_deg, longitude_deg, altitude_km, .. } =
            track.at(self.time).map_err(|error| error.to_string())?;
        let found = next_pass(&track, later(self.time, -JUST_SET_S), 1.0, 0.0).ok().flatten();
        let span = found.and_then(|pass| Some((pass.aos?, later(pass.los?, JUST_SET_S))));
        let pass = span.filter(|(rises, sets)| *rises <= self.time && self.time <= *sets);
        let satellite = Geodetic { latitude_deg, longitude_deg, altitude_km };
        Ok(Sight { satellite, elevation_deg, pass })
    }
}
