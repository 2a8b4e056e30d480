//! Orbit mean-elements messages (CCSDS 502.0-B-3): what a message says, whatever form it came in,
//! and the element set that it makes.

use std::collections::BTreeMap;

use chrono::NaiveDateTime;

use super::{ElementFile, ElementSet, Fault};
use crate::terms::{Time, parse_time};

/// What a message may say about itself, and what it must say then: the propagator is made for
/// nothing else. Earlier editions of the standard wrote the theory as "SGP/SGP4".
const CONVENTIONS: [(&str, &[&str]); 4] = [
    ("CENTER_NAME", &["EARTH"]),
    ("REF_FRAME", &["TEME"]),
    ("TIME_SYSTEM", &["UTC"]),
    ("MEAN_ELEMENT_THEORY", &["SGP4", "SGP/SGP4"]),
];

/// The numbers, and the unit that may stand beside one. That of the drag term is written in too
/// many ways to be compared.
const NUMBERS: [(&str, Option<&str>); 7] = [
    ("INCLINATION", Some("deg")),
    ("RA_OF_ASC_NODE", Some("deg")),
    ("ECCENTRICITY", None),
    ("ARG_OF_PERICENTER", Some("deg")),
    ("MEAN_ANOMALY", Some("deg")),
    ("MEAN_MOTION", Some("rev/day")),
    ("BSTAR", None),
];

const OTHERS: [&str; 4] = ["OBJECT_NAME", "NORAD_CAT_ID", "EPOCH", "EPHEMERIS_TYPE"];

/// One message's keywords and values. What SGP4 does not need is left out.
#[derive(Debug, Default)]
pub(super) struct Message {
    /// The line on which it begins, from 1.
    line: usize,
    values: BTreeMap<&'static str, String>,
    /// The first thing found wrong with it so far.
    fault: Option<Fault>,
}

impl Message {
    pub(super) fn at(line: usize) -> Self {
        Self { line, ..Self::default() }
    }

    /// Takes in a keyword, upper or lower case; one that is not needed or has no value is passed
    /// over.
    pub(super) fn put(&mut self, key: &str, value: &str, unit: Option<&str>) {
        let value = value.trim();
        let Some(key) = known(key.trim()).filter(|_| !value.is_empty()) else { return };
        let wanted = NUMBERS.iter().find(|(name, _)| *name == key).and_then(|(_, unit)| *unit);
        if let (Some(wanted), Some(unit)) = (wanted, unit.map(str::trim))
            && !unit.eq_ignore_ascii_case(wanted)
        {
            self.spoil(Fault::Unit { key, found: unit.to_owned(), wanted });
        }
        if self.values.insert(key, value.to_owned()).is_some() {
            self.spoil(Fault::Twice(key));
        }
    }

    /// Notes that the message can't be used; the first reason counts.
    pub(super) fn spoil(&mut self, fault: Fault) {
        self.fault.get_or_insert(fault);
    }

    /// The message's element set goes to the file, or what is wrong with it.
    pub(super) fn finish(self, index: usize, file: &mut ElementFile) {
        let (line, name) = (self.line, self.name());
        let set = self.element_set(name.as_deref());
        let name = name.map_or_else(String::new, |name| format!(", {name}"));
        file.add(line, Some(format!("set {index}{name}")), set.map_err(|fault| (line, fault)));
    }

    fn element_set(self, name: Option<&str>) -> Result<ElementSet, Fault> {
        if let Some(fault) = self.fault {
            return Err(fault);
        }
        self.check_conventions()?;
        let number = |key| self.number(key);
        let catalog_number = self.catalog_number()?;
        let set = ElementSet {
            name: name.map_or_else(|| catalog_number.to_string(), str::to_owned),
            catalog_number,
            epoch: self.epoch()?,
            inclination_deg: number("INCLINATION")?,
            right_ascension_deg: number("RA_OF_ASC_NODE")?,
            eccentricity: number("ECCENTRICITY")?,
            argument_of_perigee_deg: number("ARG_OF_PERICENTER")?,
            mean_anomaly_deg: number("MEAN_ANOMALY")?,
            mean_motion_rev_day: number("MEAN_MOTION")?,
            drag_term: number("BSTAR")?,
        };
        set.check().map(|()| set)
    }

    fn value(&self, key: &'static str) -> Result<&str, Fault> {
        self.values.get(key).map(String::as_str).ok_or(Fault::Missing(key))
    }

    fn name(&self) -> Option<String> {
        let name: String = self.values.get("OBJECT_NAME")?.chars().filter(|c| !c.is_control()).collect();
        (!name.is_empty()).then_some(name)
    }

    fn check_conventions(&self) -> Result<(), Fault> {
        for (key, accepted) in CONVENTIONS {
            let Ok(found) = self.value(key) else { continue };
            if !accepted.iter().any(|known| known.eq_ignore_ascii_case(found)) {
                return Err(Fault::OtherTheory { key, found: found.to_owned(), wanted: accepted[0] });
            }
        }
        match self.value("EPHEMERIS_TYPE") {
            Ok("4") => Err(Fault::ExtendedTheory),
            _ => Ok(()),
        }
    }

    fn number(&self, key: &'static str) -> Result<f64, Fault> {
        let found = self.value(key)?;
        found.parse().map_err(|_| Fault::NoNumber { key, found: found.to_owned() })
    }

    fn catalog_number(&self) -> Result<u32, Fault> {
        let found = self.value("NORAD_CAT_ID")?;
        let digits = (1..=9).contains(&found.len()) && found.bytes().all(|byte| byte.is_ascii_digit());
        found.parse().ok().filter(|_| digits).ok_or_else(|| Fault::CatalogNumber(found.to_owned()))
    }

    /// UTC whether or not a Z says so; days of the year are allowed as well as months.
    fn epoch(&self) -> Result<Time, Fault> {
        let found = self.value("EPOCH")?;
        let bare = found.trim_end_matches(['Z', 'z']);
        let parsed = ["%Y-%m-%dT%H:%M:%S%.f", "%Y-%jT%H:%M:%S%.f"]
            .iter()
            .find_map(|form| NaiveDateTime::parse_from_str(bare, form).ok());
        let epoch = parsed.map(|epoch| epoch.and_utc()).or_else(|| parse_time(found).ok());
        epoch.ok_or_else(|| Fault::Epoch(found.to_owned()))
    }
}

/// The keyword as the standard writes it, if it is one that is needed.
fn known(key: &str) -> Option<&'static str> {
    let numbers = NUMBERS.iter().map(|(key, _)| *key);
    let conventions = CONVENTIONS.iter().map(|(key, _)| *key);
    numbers.chain(conventions).chain(OTHERS).find(|known| known.eq_ignore_ascii_case(key))
}
