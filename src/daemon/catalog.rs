//! The satellites that the station knows: their links and their orbits.

use std::path::Path;

use crate::config::{Config, ELEMENTS_LIMIT, read_text};
use crate::link::{Link, Satellite};
use crate::sky::{ElementSet, read_elements};

/// Satellites by name, each with its newest element set.
#[derive(Debug, Clone, Default)]
pub struct Catalog {
    satellites: Vec<Satellite>,
    elements: Vec<ElementSet>,
}

/// A satellite, link or element set that is not there.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct NotInCatalog(String);

impl Catalog {
    /// From lists; of two element sets of one satellite the newer counts.
    pub fn new(satellites: Vec<Satellite>, mut elements: Vec<ElementSet>) -> Self {
        elements.sort_by_key(|set| std::cmp::Reverse(set.epoch));
        Self { satellites, elements }
    }

    /// Reads the files that the configuration names. What is wrong with single element sets, or
    /// with a whole file, comes back in words beside what is good.
    pub fn load(config: &Config, satellites: Vec<Satellite>) -> (Self, Vec<String>) {
        let (mut sets, mut complaints) = (Vec::new(), Vec::new());
        for file in &config.files.elements {
            match read_text(file, ELEMENTS_LIMIT) {
                Ok(text) => sets.extend(take_sets(file, &text, &mut complaints)),
                Err(error) => complaints.push(format!("{}: {error}", file.display())),
            }
        }
        (Self::new(satellites, sets), complaints)
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
                "no element set of {name} (catalog number {number}) is in the element files"
            ))
        })
    }

    /// All satellites, in the file's order.
    pub fn satellites(&self) -> &[Satellite] {
        &self.satellites
    }
}

fn take_sets(file: &Path, text: &str, complaints: &mut Vec<String>) -> Vec<ElementSet> {
    let read = read_elements(text);
    complaints
        .extend(read.refused.iter().map(|bad| format!("{}:{}: {}", file.display(), bad.line, bad.reason)));
    read.sets
}

fn list(names: &[&str]) -> String {
    if names.is_empty() { "none".to_owned() } else { names.join(", ") }
}
