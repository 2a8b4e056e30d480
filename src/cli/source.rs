//! Where a verb gets its elements and its station from: the command line, else the configuration.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;

use crate::config::defaults::ALTITUDE_M;
use crate::config::{Config, DefaultPaths, Dialects, load_satellites};
use crate::device::dialect::Dialect;
use crate::sky::{ElementSet, Locator, Station, Track, read_elements};

use super::Failure;

/// Options that several verbs share.
#[derive(Args, Debug, Default)]
pub(super) struct Source {
    /// Two-line, three-line or OMM JSON elements [default: what the configuration names]
    #[arg(long, value_name = "FILE")]
    elements: Vec<PathBuf>,
    /// Every set of the configuration's element files, not only those of its satellites
    #[arg(long)]
    all: bool,
    /// Degrees north and east, metres above the ellipsoid; or a locator, such as IO84RA [default:
    /// the configuration's]
    #[arg(long, value_name = "LAT,LON,ALT_M", value_parser = station, allow_hyphen_values = true)]
    station: Option<Station>,
    /// Only this satellite, by name or catalog number
    #[arg(long, value_name = "NAME|NUMBER")]
    satellite: Option<String>,
    /// The configuration [default: yours, else the system's]
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

/// What a verb works on.
pub(super) struct Sky {
    /// One for each satellite that was asked for.
    pub(super) tracks: Vec<Track>,
    /// Passes below this are not meant unless the command line says so, degrees.
    pub(super) minimum_elevation: f64,
}

impl Source {
    /// Reads the elements and finds the station. What is wrong with single sets goes to standard
    /// error, and the rest is used.
    pub(super) fn open(&self) -> Result<Sky, Failure> {
        let needs_config = self.elements.is_empty() || self.station.is_none();
        let config = if needs_config { Some(load_config(self.config.as_deref())?) } else { None };
        let station = match (self.station, &config) {
            (Some(station), _) => station,
            (None, Some(config)) => config.station.position,
            (None, None) => return Err(Failure::Usage("--station is missing".to_owned())),
        };
        let sets = match &config {
            Some(config) if self.elements.is_empty() => self.configured_sets(config)?,
            _ => read_all(&self.elements)?,
        };
        let mut tracks = Vec::new();
        for set in sets.iter().filter(|set| self.is_wanted(set)) {
            match Track::new(set, station) {
                Ok(track) => tracks.push(track),
                Err(error) => eprintln!("beamhand: {error}"),
            }
        }
        if tracks.is_empty() {
            return Err(Failure::Failed(self.nothing(&sets)));
        }
        let minimum_elevation = config.map_or(0.0, |config| config.station.minimum_elevation);
        Ok(Sky { tracks, minimum_elevation })
    }

    fn is_wanted(&self, set: &ElementSet) -> bool {
        self.satellite.as_ref().is_none_or(|wanted| {
            set.name.eq_ignore_ascii_case(wanted) || wanted.parse() == Ok(set.catalog_number)
        })
    }

    fn nothing(&self, sets: &[ElementSet]) -> String {
        let names: Vec<&str> = sets.iter().map(|set| set.name.as_str()).take(20).collect();
        match (&self.satellite, names.is_empty()) {
            (Some(wanted), false) => {
                format!("no usable elements of \"{wanted}\"; there are {}", names.join(", "))
            }
            _ => "no usable element set was found".to_owned(),
        }
    }

    /// The configuration's elements under the names of its satellites file. Sets of satellites that
    /// are not in it are left out, unless all are wanted or one is asked for.
    fn configured_sets(&self, config: &Config) -> Result<Vec<ElementSet>, Failure> {
        let satellites = load_satellites(&config.files.satellites)?;
        let everything = self.all || self.satellite.is_some();
        let mut sets = Vec::new();
        for set in read_all(&config.files.elements)? {
            match satellites.iter().find(|satellite| satellite.catalog_number == set.catalog_number) {
                Some(satellite) => sets.push(ElementSet { name: satellite.name.clone(), ..set }),
                None if everything => sets.push(set),
                None => {}
            }
        }
        Ok(sets)
    }
}

/// The configuration at `path`, or where it is when nobody says.
pub(super) fn load_config(path: Option<&Path>) -> Result<Config, Failure> {
    let paths = paths(path);
    Ok(Config::load(&paths.config, &paths)?)
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

fn read_all(files: &[PathBuf]) -> Result<Vec<ElementSet>, Failure> {
    let mut sets = Vec::new();
    for file in files {
        let name = file.display();
        let text =
            std::fs::read_to_string(file).map_err(|error| Failure::Failed(format!("{name}: {error}")))?;
        let read = read_elements(&text);
        for bad in &read.refused {
            eprintln!("beamhand: {name}:{}: {}", bad.line, bad.reason);
        }
        sets.extend(read.sets);
    }
    Ok(sets)
}

/// `LAT,LON,ALT_M`, or a locator at sea level.
pub(super) fn station(text: &str) -> Result<Station, String> {
    let numbers: Option<Vec<f64>> = text.split(',').map(|part| part.trim().parse().ok()).collect();
    let place = match numbers.as_deref() {
        Some([latitude, longitude, altitude]) => Station::new(*latitude, *longitude, *altitude),
        _ => {
            let square: Locator = text.parse().map_err(|_| {
                "write it as LAT,LON,ALT_M, for example 54.0,-2.5,120, or as a locator, for example IO84RA"
            })?;
            Station::new(square.latitude_deg(), square.longitude_deg(), ALTITUDE_M)
        }
    };
    place.map_err(|error| error.to_string())
}
