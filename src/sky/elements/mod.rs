//! Element sets: two- and three-line text, and OMM (CCSDS 502.0-B-3) as JSON, XML, key-value
//! notation or a table with commas. A bad set is reported with its line and left out; the rest of
//! the file is kept.

mod fault;
mod json_objects;
mod line_pair;
mod lines;
mod omm;
mod omm_csv;
mod omm_json;
mod omm_kvn;
mod omm_xml;

use std::ops::RangeInclusive;

use chrono::Datelike;
use fault::Fault;
use serde::{Deserialize, Serialize};

use super::propagator::{GRAVITY, SURFACE_KM};
use super::{Propagator, SkyError};
use crate::terms::Time;

/// Of a name so many characters are kept, and of a fault in words.
const NAME_LENGTH: usize = 64;
const REASON_LENGTH: usize = 300;

/// The mean elements of one satellite, checked; they mean something to SGP4 alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ElementSet {
    /// As in the file; the catalog number where the file gives no name.
    pub name: String,
    /// One to nine digits.
    pub catalog_number: u32,
    /// The instant for which the elements hold.
    pub epoch: Time,
    /// Degrees, 0 to 180.
    pub inclination_deg: f64,
    /// Right ascension of the ascending node, degrees.
    pub right_ascension_deg: f64,
    /// 0 up to but not including 1.
    pub eccentricity: f64,
    /// Degrees.
    pub argument_of_perigee_deg: f64,
    /// Degrees.
    pub mean_anomaly_deg: f64,
    /// Revolutions a day, in Kozai's convention, as published.
    pub mean_motion_rev_day: f64,
    /// The drag term B*, per Earth radius.
    pub drag_term: f64,
}

/// What a file held.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ElementFile {
    /// The good sets, in the file's order.
    pub sets: Vec<ElementSet>,
    /// What was left out, in the file's order.
    pub refused: Vec<Refused>,
    /// Whether the text ends in the middle of a set.
    pub cut_off: bool,
    /// Of each good set, where it is and what it is called in a refusal.
    places: Vec<(usize, Option<String>)>,
}

/// A part of a file that is no element set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Where it is, counted from 1; for OMM the line on which the set's message begins.
    pub line: usize,
    /// What is wrong, and with which set.
    pub reason: String,
}

/// Reads element sets, whose form is recognised by what the text holds, and leaves out also those that
/// the theory can't follow even at their own epoch. Never fails as a whole; an empty text is an empty file.
pub fn read_elements(text: &str) -> ElementFile {
    parse_elements(text).usable()
}

/// The same with every set that is written as it should be, whether or not it describes an orbit.
pub fn parse_elements(text: &str) -> ElementFile {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut file = match text.trim_start().as_bytes().first() {
        Some(b'{' | b'[') => omm_json::read(text),
        Some(b'<') => omm_xml::read(text),
        _ if omm_csv::is_one(text) => omm_csv::read(text),
        _ if omm_kvn::is_one(text) => omm_kvn::read(text),
        _ => lines::read(text),
    };
    file.sets.iter_mut().for_each(|set| set.name = shown(&set.name, NAME_LENGTH));
    file
}

/// The text as it may be shown: it comes from anywhere, and a terminal would obey control characters.
fn shown(text: &str, length: usize) -> String {
    let mut shown: String = text.chars().filter(|c| !c.is_control()).take(length + 1).collect();
    if let Some((end, _)) = shown.char_indices().nth(length) {
        shown.replace_range(end.., "...");
    }
    shown
}

impl ElementFile {
    /// Takes in a set that was read, or what is wrong with it and where; `line` is where the set begins.
    fn add(&mut self, line: usize, set: Option<String>, read: Result<ElementSet, (usize, Fault)>) {
        match read {
            Ok(good) => {
                self.sets.push(good);
                self.places.push((line, set));
            }
            Err((line, fault)) => self.refuse(line, set.as_deref(), &fault),
        }
    }

    /// Without the sets that describe no orbit: a newer one of them would take a good one's place.
    fn usable(mut self) -> Self {
        let places = std::mem::take(&mut self.places);
        for (set, (line, name)) in std::mem::take(&mut self.sets).into_iter().zip(places) {
            let fault = set.fault_at_epoch().map(|why| (line, Fault::NoOrbit(why)));
            let name = name.or_else(|| Some(set.name.clone()));
            self.add(line, name, fault.map_or(Ok(set), Err));
        }
        self.refused.sort_by_key(|bad| bad.line);
        self
    }

    fn refuse(&mut self, line: usize, set: Option<&str>, fault: &Fault) {
        let reason = set.map_or_else(|| fault.to_string(), |set| format!("{set}: {fault}"));
        self.refused.push(Refused { line, reason: shown(&reason, REASON_LENGTH) });
    }
}

impl ElementSet {
    /// Why the satellite can't be followed even at the epoch of its own elements, in words; `None` where
    /// it can.
    pub fn fault_at_epoch(&self) -> Option<String> {
        self.fault_of_theory().or_else(|| {
            let perigee_km = self.perigee_km();
            let sunk = perigee_km < SURFACE_KM;
            sunk.then(|| {
                format!("its perigee, {perigee_km:.0} km from the Earth's centre, is below the surface")
            })
        })
    }

    /// The least distance from the Earth's centre by Kepler's third law, km; what the Earth's shape changes
    /// of it is some kilometres.
    fn perigee_km(&self) -> f64 {
        let rate = self.mean_motion_rev_day * std::f64::consts::TAU / 86_400.0;
        (GRAVITY / (rate * rate)).cbrt() * (1.0 - self.eccentricity)
    }

    fn fault_of_theory(&self) -> Option<String> {
        let state = Propagator::new(self).and_then(|orbit| orbit.at(self.epoch));
        state.err().map(|error| match error {
            SkyError::NoOrbit { reason, .. } | SkyError::NotPropagated { reason, .. } => reason,
            SkyError::BelowSurface { radius_km, .. } => {
                format!("{radius_km:.0} km from the Earth's centre is below the surface")
            }
            error @ SkyError::FarFromEpoch { .. } => error.to_string(),
        })
    }

    /// Whether every number is one that an orbit can have.
    pub(in crate::sky) fn check(&self) -> Result<(), Fault> {
        self.check_epoch_and_drag()?;
        self.check_orbit()
    }

    /// The years are those for which the propagator's calendar holds.
    fn check_epoch_and_drag(&self) -> Result<(), Fault> {
        within("the epoch's year", f64::from(self.epoch.year()), 1957.0..=2099.0)?;
        within("the drag term", self.drag_term, -10.0..=10.0)
    }

    fn check_orbit(&self) -> Result<(), Fault> {
        let angle = -360.0..=360.0;
        within("the inclination", self.inclination_deg, 0.0..=180.0)?;
        within("the right ascension", self.right_ascension_deg, angle.clone())?;
        within("the argument of perigee", self.argument_of_perigee_deg, angle.clone())?;
        within("the mean anomaly", self.mean_anomaly_deg, angle)?;
        within("the eccentricity", self.eccentricity, 0.0..=0.999_999_9)?;
        within("the mean motion", self.mean_motion_rev_day, 1e-8..=20.0)
    }
}

fn within(quantity: &'static str, value: f64, range: RangeInclusive<f64>) -> Result<(), Fault> {
    if range.contains(&value) {
        return Ok(());
    }
    Err(Fault::Range { quantity, value, least: *range.start(), most: *range.end() })
}
