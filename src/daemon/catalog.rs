//! The satellites that the station knows: their links and their orbits.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use crate::almanac::{Held, Shelf};
use crate::config::{Config, ELEMENTS_LIMIT, read_text};
use crate::link::{Link, Satellite};
use crate::sky::{ElementSet, Miss, read_elements};
use crate::terms::Time;

/// Satellites by name, each with its newest element set. Cheap to clone.
#[derive(Debug, Clone, Default)]
pub struct Catalog {
    satellites: Arc<Vec<Satellite>>,
    elements: Arc<Vec<ElementSet>>,
    misses: Arc<BTreeMap<u32, Vec<Miss>>>,
}

/// An element set that the station has, and where from.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// The set.
    pub set: ElementSet,
    /// The source's name, or the file's.
    pub source: String,
    /// When it was taken in, where that is known.
    pub came: Option<Time>,
    /// How far the sets that the almanac had of this satellite missed each other.
    pub misses: Vec<Miss>,
}

/// A satellite, link or element set that is not there.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct NotInCatalog(String);

impl Catalog {
    /// From lists; of two element sets of one satellite the newer counts.
    pub fn new(satellites: Vec<Satellite>, mut elements: Vec<ElementSet>) -> Self {
        elements.sort_by_key(|set| std::cmp::Reverse(set.epoch));
        Self { satellites: Arc::new(satellites), elements: Arc::new(elements), misses: Arc::default() }
    }

    /// Reads the files that the configuration names, and what was taken in. What is wrong with
    /// single element sets, or with a whole file, comes back in words beside what is good.
    pub fn load(config: &Config, satellites: Vec<Satellite>) -> (Self, Vec<String>) {
        let (known, complaints) = known_sets(config);
        let is_wanted = |set: &ElementSet| {
            satellites.iter().any(|satellite| satellite.catalog_number == set.catalog_number)
        };
        let own: Vec<Known> = known.into_iter().filter(|known| is_wanted(&known.set)).collect();
        let misses = own.iter().map(|known| (known.set.catalog_number, known.misses.clone())).collect();
        let sets = own.into_iter().map(|known| known.set).collect();
        (Self { misses: Arc::new(misses), ..Self::new(satellites, sets) }, complaints)
    }

    /// The satellite of this name or catalog number.
    pub fn satellite(&self, wanted: &str) -> Result<&Satellite, NotInCatalog> {
        let number = wanted.parse::<u32>().ok();
        let is_it = |satellite: &&Satellite| {
            satellite.name.eq_ignore_ascii_case(wanted) || number == Some(satellite.catalog_number)
        };
        self.satellites.iter().find(is_it).ok_or_else(|| {
            let names: Vec<&str> = self.satellites.iter().map(|satellite| satellite.name.as_str()).collect();
            NotInCatalog(format!(
                "no satellite \"{wanted}\" is in the satellites file; it has {}",
                list(&names)
            ))
        })
    }

    /// A satellite's link: the one named, or the first.
    pub fn link<'a>(&self, satellite: &'a Satellite, wanted: Option<&str>) -> Result<&'a Link, NotInCatalog> {
        match wanted {
            None => {
                let first = satellite.links.first();
                first.ok_or_else(|| NotInCatalog(format!("{} has no link", satellite.name)))
            }
            Some(name) => satellite.link(name).ok_or_else(|| {
                let names: Vec<&str> = satellite.links.iter().map(|link| link.name.as_str()).collect();
                NotInCatalog(format!("{} has no link \"{name}\"; it has {}", satellite.name, list(&names)))
            }),
        }
    }

    /// A satellite's newest element set.
    pub fn elements(&self, satellite: &Satellite) -> Result<&ElementSet, NotInCatalog> {
        let is_it = |set: &&ElementSet| set.catalog_number == satellite.catalog_number;
        self.elements.iter().find(is_it).ok_or_else(|| {
            let (name, number) = (&satellite.name, satellite.catalog_number);
            NotInCatalog(format!(
                "no element set of {name} (catalog number {number}) is in the element files or was taken in"
            ))
        })
    }

    /// How far a satellite's sets missed each other so far.
    pub fn misses(&self, satellite: &Satellite) -> &[Miss] {
        self.misses.get(&satellite.catalog_number).map_or(&[], Vec::as_slice)
    }

    /// All satellites, in the file's order.
    pub fn satellites(&self) -> &[Satellite] {
        &self.satellites
    }
}

/// Every set of the configuration's element files and of the almanac; and, in words, what is wrong
/// with them. An element file that nobody named may be missing where the almanac has something.
pub fn known_sets(config: &Config) -> (Vec<Known>, Vec<String>) {
    let (mut known, mut complaints) = (Vec::new(), Vec::new());
    match Shelf::in_folder(&config.files.state).sets() {
        Ok(sets) => known.extend(sets.into_iter().map(|held| {
            let Held { set, source, came, misses } = held;
            Known { set, source, came: Some(came), misses }
        })),
        Err(why) => complaints.push(why),
    }
    let may_be_missing = !config.files.elements_named && !known.is_empty();
    let mut of_files = Vec::new();
    for file in &config.files.elements {
        match read_text(file, ELEMENTS_LIMIT) {
            Ok(text) => of_files.extend(of_file(file, &text, &mut complaints)),
            Err(error) if error.is_missing && may_be_missing => {}
            Err(error) => complaints.push(format!("{}: {error}", file.display())),
        }
    }
    let of_almanac = newest(&known);
    for known in &mut of_files {
        known.misses =
            of_almanac.get(&known.set.catalog_number).map_or(Vec::new(), |held| held.misses.clone());
    }
    known.extend(of_files);
    (known, complaints)
}

/// Of each satellite the newest set; the almanac's, where a file has the same.
pub fn newest(known: &[Known]) -> BTreeMap<u32, &Known> {
    let mut newest: BTreeMap<u32, &Known> = BTreeMap::new();
    for known in known {
        let place = newest.entry(known.set.catalog_number).or_insert(known);
        if known.set.epoch > place.set.epoch {
            *place = known;
        }
    }
    newest
}

fn of_file(file: &Path, text: &str, complaints: &mut Vec<String>) -> Vec<Known> {
    let read = read_elements(text);
    complaints
        .extend(read.refused.iter().map(|bad| format!("{}:{}: {}", file.display(), bad.line, bad.reason)));
    let source = file.file_name().unwrap_or(file.as_os_str()).to_string_lossy().into_owned();
    let known = |set| Known { set, source: source.clone(), came: None, misses: Vec::new() };
    read.sets.into_iter().map(known).collect()
}

fn list(names: &[&str]) -> String {
    if names.is_empty() { "none".to_owned() } else { names.join(", ") }
}
