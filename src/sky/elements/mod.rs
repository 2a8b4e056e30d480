//! Element sets: two- and three-line text and OMM JSON (CCSDS 502.0-B-3). A bad set is reported
//! with its line and left out; the rest of the file is kept.

mod fault;
mod json_objects;
mod line_pair;
mod lines;
mod omm_json;

use std::ops::RangeInclusive;

use chrono::Datelike;
use fault::Fault;

use crate::terms::Time;

/// The mean elements of one satellite, checked; they mean something to SGP4 alone.
#[derive(Debug, Clone, PartialEq)]
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
}

/// A part of a file that is no element set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Where it is, counted from 1; for JSON the line on which the set's object begins.
    pub line: usize,
    /// What is wrong, and with which set.
    pub reason: String,
}

/// Reads element sets: OMM JSON if the text begins with a bracket, two- and three-line sets
/// otherwise. Never fails as a whole; an empty text is an empty file.
pub fn read_elements(text: &str) -> ElementFile {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.trim_start().starts_with(['{', '[']) { omm_json::read(text) } else { lines::read(text) }
}

impl ElementFile {
    fn refuse(&mut self, line: usize, set: Option<&str>, fault: &Fault) {
        let reason = set.map_or_else(|| fault.to_string(), |set| format!("{set}: {fault}"));
        self.refused.push(Refused { line, reason });
    }
}

impl ElementSet {
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
