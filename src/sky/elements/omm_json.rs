//! Orbit mean-elements messages as JSON: one object, or an array of them.

use chrono::NaiveDateTime;
use serde_json::{Map, Value};

use super::json_objects::{Kind, Piece, pieces};
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

/// Reads every object by itself, so that a broken one costs only itself.
pub(super) fn read(text: &str) -> ElementFile {
    let mut file = ElementFile::default();
    let mut index = 0;
    for Piece { line, kind } in pieces(text) {
        index += usize::from(kind != Kind::Outside);
        let result = match kind {
            Kind::Object(text) => read_object(text),
            Kind::Unfinished => Err((None, Fault::Unfinished)),
            Kind::Outside => {
                file.refuse(line, None, &Fault::Outside);
                continue;
            }
        };
        match result {
            Ok(set) => file.sets.push(set),
            Err((name, fault)) => {
                let label =
                    name.map_or_else(|| format!("set {index}"), |name| format!("set {index}, {name}"));
                file.refuse(line, Some(&label), &fault);
            }
        }
    }
    file
}

/// The set, or its name, if that could be read, and what is wrong.
fn read_object(text: &str) -> Result<ElementSet, (Option<String>, Fault)> {
    let object: Map<String, Value> =
        serde_json::from_str(text).map_err(|error| (None, Fault::Json(error.to_string())))?;
    let name = name_of(&object);
    from_object(&object, name.as_deref()).map_err(|fault| (name, fault))
}

fn from_object(object: &Map<String, Value>, name: Option<&str>) -> Result<ElementSet, Fault> {
    check_conventions(object)?;
    let number = |key| number(object, key);
    let catalog_number = catalog_number(object)?;
    let set = ElementSet {
        name: name.map_or_else(|| catalog_number.to_string(), str::to_owned),
        catalog_number,
        epoch: epoch(object)?,
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

fn name_of(object: &Map<String, Value>) -> Option<String> {
    let name = object.get("OBJECT_NAME")?.as_str()?;
    let plain: String = name.trim().chars().filter(|character| !character.is_control()).collect();
    (!plain.is_empty()).then_some(plain)
}

fn check_conventions(object: &Map<String, Value>) -> Result<(), Fault> {
    for (key, accepted) in CONVENTIONS {
        let Some(found) = value(object, key).map(text_of) else { continue };
        if !accepted.iter().any(|known| known.eq_ignore_ascii_case(&found)) {
            return Err(Fault::OtherTheory { key, found, wanted: accepted[0] });
        }
    }
    match value(object, "EPHEMERIS_TYPE").map(text_of).as_deref() {
        Some("4") => Err(Fault::ExtendedTheory),
        _ => Ok(()),
    }
}

/// Null is as good as absent.
fn value<'a>(object: &'a Map<String, Value>, key: &str) -> Option<&'a Value> {
    object.get(key).filter(|value| !value.is_null())
}

/// A string without its quotes, anything else as it was written.
fn text_of(value: &Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), |text| text.trim().to_owned())
}

fn number(object: &Map<String, Value>, key: &'static str) -> Result<f64, Fault> {
    let found = text_of(value(object, key).ok_or(Fault::Missing(key))?);
    found.parse().map_err(|_| Fault::NoNumber { key, found })
}

fn catalog_number(object: &Map<String, Value>) -> Result<u32, Fault> {
    const KEY: &str = "NORAD_CAT_ID";
    let found = text_of(value(object, KEY).ok_or(Fault::Missing(KEY))?);
    let digits = (1..=9).contains(&found.len()) && found.bytes().all(|byte| byte.is_ascii_digit());
    found.parse().ok().filter(|_| digits).ok_or(Fault::CatalogNumber(found))
}

/// UTC whether or not a Z says so; days of the year are allowed as well as months.
fn epoch(object: &Map<String, Value>) -> Result<Time, Fault> {
    let found = text_of(value(object, "EPOCH").ok_or(Fault::Missing("EPOCH"))?);
    let bare = found.trim_end_matches(['Z', 'z']);
    let parsed = ["%Y-%m-%dT%H:%M:%S%.f", "%Y-%jT%H:%M:%S%.f"]
        .iter()
        .find_map(|form| NaiveDateTime::parse_from_str(bare, form).ok());
    parsed.map(|epoch| epoch.and_utc()).or_else(|| parse_time(&found).ok()).ok_or(Fault::Epoch(found))
}
