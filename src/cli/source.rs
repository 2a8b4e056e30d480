//! Where a verb gets its elements and its station from: the command line, else the configuration.

use std::cell::Cell;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;

use crate::clock::TrustPolicy;
use crate::config::defaults::{ALTITUDE_M, GRADES, MINIMUM_ELEVATION};
use crate::config::{
    Config, DefaultPaths, Dialects, ELEMENTS_LIMIT, load_earth_orientation, load_satellites, read_text,
};
use crate::daemon::{Known, known_sets, newest};
use crate::device::dialect::Dialect;
use crate::link::Satellite;
use crate::sky::{
    EarthOrientation, ElementSet, Grades, Locator, Miss, Refused, Station, Track, read_elements,
};
use crate::terms::{Segments, Time};

use super::Failure;
use super::text::remark;

/// So many bad sets of one file are named one by one.
const NAMED: usize = 20;

/// Elements and station: options that several verbs share.
#[derive(Args, Debug, Default)]
pub(super) struct Source {
    /// Two-line, three-line or OMM elements, in any form [default: what the configuration names]
    #[arg(long, value_name = "FILE")]
    elements: Vec<PathBuf>,
    /// Degrees north and east, metres above the ellipsoid; or a locator, such as IO84RA [default:
    /// the configuration's]
    #[arg(long, value_name = "LAT,LON,ALT_M", value_parser = station, allow_hyphen_values = true)]
    station: Option<Station>,
    /// How the Earth really turns: the IERS file finals2000A [default: the configuration's, else
    /// UT1 = UTC]
    #[arg(long, value_name = "FILE")]
    earth_orientation: Option<PathBuf>,
    /// The configuration [default: yours, else the system's]
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

/// Which satellites are meant.
#[derive(Args, Debug, Default)]
pub(super) struct Wanted {
    /// Every set that the station has, not only those of its satellites
    #[arg(long)]
    all: bool,
    /// Only this satellite, by name or catalog number
    #[arg(long, value_name = "NAME|NUMBER")]
    satellite: Option<String>,
}

impl Wanted {
    /// Only one satellite, by name or catalog number.
    pub(super) fn only(satellite: String) -> Self {
        Self { all: false, satellite: Some(satellite) }
    }

    fn is_wanted(&self, set: &ElementSet) -> bool {
        self.satellite.as_ref().is_none_or(|wanted| {
            set.name.eq_ignore_ascii_case(wanted) || wanted.parse() == Ok(set.catalog_number)
        })
    }

    fn nothing(&self, sets: &[(ElementSet, Vec<Miss>)]) -> String {
        let names: Vec<&str> = sets.iter().map(|(set, _)| set.name.as_str()).take(20).collect();
        match (&self.satellite, names.is_empty()) {
            (Some(wanted), false) => {
                format!("no usable elements of \"{wanted}\"; there are {}", names.join(", "))
            }
            _ => "no usable element set was found".to_owned(),
        }
    }
}

/// What a verb works on.
pub(super) struct Sky {
    /// One for each satellite that was asked for.
    pub(super) tracks: Vec<Track>,
    /// Passes below this are not meant unless the command line says so, degrees.
    pub(super) minimum_elevation: f64,
    /// From which elevation on a pass is called what.
    pub(super) grades: Grades,
    /// How the computer's clock is to be trusted.
    pub(super) clock: TrustPolicy,
    earth: Option<Arc<EarthOrientation>>,
    /// Whether it was said that a time is outside the file.
    noted: Cell<bool>,
}

impl Sky {
    /// Says once if the Earth's orientation is not known throughout a time.
    pub(super) fn note_orientation(&self, from: Time, until: Time) {
        let Some((first, last)) = self.earth.as_ref().map(|earth| earth.span()) else { return };
        if (from < first || until > last) && !self.noted.replace(true) {
            let day = |time: Time| time.format("%-d %b %Y");
            remark(format_args!(
                "the Earth's orientation is known from {} to {}; outside it is taken to turn evenly \
                 (UT1 = UTC); a newer file from the IERS is needed",
                day(first),
                day(last)
            ));
        }
    }
}

impl Source {
    /// Reads the elements and finds the station. What is wrong with single sets goes to standard
    /// error, and the rest is used.
    pub(super) fn open(&self, wanted: &Wanted) -> Result<Sky, Failure> {
        let needs_config = self.elements.is_empty() || self.station.is_none();
        let config = if needs_config { Some(load_config(self.config.as_deref())?) } else { None };
        let station = match (self.station, &config) {
            (Some(station), _) => station,
            (None, Some(config)) => config.station.position,
            (None, None) => return Err(Failure::Usage("--station is missing".to_owned())),
        };
        let sets = match &config {
            Some(config) if self.elements.is_empty() => configured_sets(config, wanted)?,
            _ => read_all(&self.elements)?.into_iter().map(|set| (set, Vec::new())).collect(),
        };
        // What stands around the configured station says nothing about another one.
        let at_home = config.as_ref().filter(|_| self.station.is_none());
        let horizon = at_home.and_then(|config| config.station.horizon.clone());
        let earth = self.orientation(config.as_ref());
        let mut tracks = Vec::new();
        for (set, misses) in sets.iter().filter(|(set, _)| wanted.is_wanted(set)) {
            match Track::new(set, station) {
                Ok(track) => {
                    let mut track = track.with_misses(misses);
                    if let Some(earth) = &earth {
                        track = track.with_earth_orientation(Arc::clone(earth));
                    }
                    if let Some(horizon) = &horizon {
                        track = track.with_horizon(Arc::clone(horizon));
                    }
                    tracks.push(track);
                }
                Err(error) => remark(error),
            }
        }
        if tracks.is_empty() {
            return Err(Failure::Failed(wanted.nothing(&sets)));
        }
        let station = config.as_ref().map(|config| &config.station);
        let minimum_elevation = station.map_or(MINIMUM_ELEVATION, |station| station.minimum_elevation);
        let grades = station.map_or(GRADES, |station| station.grades);
        let clock = config.map(|config| config.clock).unwrap_or_default();
        Ok(Sky { tracks, minimum_elevation, grades, clock, earth, noted: Cell::new(false) })
    }

    /// The configuration, for what the command line does not say.
    pub(super) fn config(&self) -> Result<Config, Failure> {
        load_config(self.config.as_deref())
    }

    /// The configuration's satellites, which have the links, and where the transmitter may be.
    pub(super) fn links(&self) -> Result<(Vec<Satellite>, Segments), Failure> {
        let config = self.config()?;
        Ok((load_satellites(&config.files.satellites)?, config.transmit))
    }

    /// A file that can't be used is named, and the Earth turns evenly.
    fn orientation(&self, config: Option<&Config>) -> Option<Arc<EarthOrientation>> {
        let configured = config.and_then(|config| config.files.earth_orientation.as_deref());
        let file = self.earth_orientation.as_deref().or(configured)?;
        load_earth_orientation(file).inspect_err(|said| remark(said)).ok()
    }
}

/// The configuration's elements under the names of its satellites file. Sets of satellites that
/// are not in it are left out, unless all are wanted or one is asked for.
fn configured_sets(config: &Config, wanted: &Wanted) -> Result<Vec<(ElementSet, Vec<Miss>)>, Failure> {
    let satellites = load_satellites(&config.files.satellites)?;
    let everything = wanted.all || wanted.satellite.is_some();
    let (known, complaints) = known_sets(config);
    complaints.iter().for_each(remark);
    let mut sets = Vec::new();
    for (number, Known { set, misses, .. }) in newest(&known) {
        let own = satellites.iter().find(|satellite| satellite.catalog_number == number);
        if everything || own.is_some() {
            let name = own.map_or(&set.name, |satellite| &satellite.name).clone();
            sets.push((ElementSet { name, ..set.clone() }, misses.clone()));
        }
    }
    Ok(sets)
}

/// The configuration at `path`, or where it is when nobody says.
pub(super) fn load_config(path: Option<&Path>) -> Result<Config, Failure> {
    let paths = paths(path);
    Ok(Config::load(&paths.config, &paths)?)
}

/// The configuration without its equipment, where there is one or one was named.
pub(super) fn load_any_config(path: Option<&Path>) -> Result<Option<Config>, Failure> {
    let paths = paths(path);
    if path.is_none() && !paths.config.exists() {
        return Ok(None);
    }
    Ok(Some(Config::load_without_equipment(&paths.config, &paths)?))
}

/// The dialects of that configuration, or the built-in ones where there is none and nobody named
/// one. The rest of it may be wrong.
pub(super) fn load_dialects(config: Option<&Path>) -> Result<Dialects, Failure> {
    let paths = paths(config);
    if config.is_none() && !paths.config.exists() {
        return Ok(Dialects::built_in());
    }
    Ok(Config::dialects(&paths.config, &paths)?)
}

/// The dialect that the command line names.
pub(super) fn named(dialects: &Dialects, name: &str) -> Result<Arc<Dialect>, Failure> {
    let known: Vec<&str> = dialects.names().collect();
    Ok(dialects.get(name).ok_or_else(|| no_dialect(name, &known))??)
}

pub(super) fn no_dialect(name: &str, known: &[&str]) -> Failure {
    Failure::Usage(format!("no dialect \"{name}\"; there are {}", known.join(", ")))
}

fn paths(config: Option<&Path>) -> DefaultPaths {
    let env = |name: &str| std::env::var_os(name);
    match config {
        Some(path) => DefaultPaths::beside(path, &env),
        None => DefaultPaths::find(&env, &|path| path.exists()),
    }
}

/// Says on standard error what was left out of a file.
pub(super) fn name_refused(file: &str, refused: &[Refused]) {
    for bad in refused.iter().take(NAMED) {
        remark(format_args!("{file}:{}: {}", bad.line, bad.reason));
    }
    if refused.len() > NAMED {
        remark(format_args!("{file}: {} more are bad", refused.len() - NAMED));
    }
}

fn read_all(files: &[PathBuf]) -> Result<Vec<ElementSet>, Failure> {
    let mut sets = Vec::new();
    for file in files {
        let name = file.display();
        let text =
            read_text(file, ELEMENTS_LIMIT).map_err(|error| Failure::Failed(format!("{name}: {error}")))?;
        let read = read_elements(&text);
        name_refused(&name.to_string(), &read.refused);
        sets.extend(read.sets);
    }
    Ok(sets)
}

/// `LAT,LON,ALT_M`, or `LAT,LON` or a locator at sea level.
pub(super) fn station(text: &str) -> Result<Station, String> {
    let numbers: Option<Vec<f64>> = text.split(',').map(|part| part.trim().parse().ok()).collect();
    let place = match numbers.as_deref() {
        Some([latitude, longitude]) => Station::new(*latitude, *longitude, ALTITUDE_M),
        Some([latitude, longitude, altitude]) => Station::new(*latitude, *longitude, *altitude),
        _ => {
            let square: Locator = text.parse().map_err(|_| {
                "write it as LAT,LON,ALT_M, for example 54.0,-2.5,120, or as a locator, for example IO84RA"
            })?;
            Station::in_square(&square, ALTITUDE_M)
        }
    };
    place.map_err(|error| error.to_string())
}
