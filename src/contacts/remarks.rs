//! What is odd about a contact. Nothing here refuses one: the operator was there.

use std::fmt;

use super::{Contact, Log};
use crate::sky::{Geodetic, elevation_deg};
use crate::terms::{Time, seconds_between};

/// How long a pass lasts at most where nobody knows, seconds: a low one's quarter of an hour (common
/// practice).
const PASS_S: f64 = 900.0;

/// How far below the geometric horizon a satellite may be heard, degrees: refraction lifts it by 0.57
/// there (Saemundsson's formula, in Meeus, Astronomical Algorithms, chapter 16).
const LIFTED_DEG: f64 = 0.6;

/// Mean radius of the Earth, km (IUGG).
const EARTH_KM: f64 = 6371.0;

/// How the satellite stood at the contact's time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    /// Where it was.
    pub satellite: Geodetic,
    /// How high over this station, degrees.
    pub elevation_deg: f64,
    /// When it rose, and when it sets, where that is known.
    pub pass: Option<(Time, Time)>,
}

/// Something odd.
#[derive(Debug, Clone, PartialEq)]
pub enum Remark {
    /// The same station in the same pass.
    Repeated {
        /// The earlier contact's number.
        id: u32,
        /// Its time.
        time: Time,
    },
    /// The satellite was below the horizon here.
    BelowHere {
        /// By so many degrees.
        degrees: f64,
    },
    /// It was below the horizon there.
    BelowThere {
        /// By so many degrees.
        degrees: f64,
        /// Where.
        locator: String,
    },
    /// A square that no earlier contact was with.
    NewSquare(String),
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Remark::Repeated { id, time } => {
                write!(
                    f,
                    "the same station in the same pass as contact {id}, at {}",
                    time.format("%H:%M:%S UTC")
                )
            }
            Remark::BelowHere { degrees } => {
                write!(f, "the satellite was {degrees:.0} degrees below the horizon here")
            }
            Remark::BelowThere { degrees, locator } => {
                write!(f, "the satellite was {degrees:.0} degrees below the horizon in {locator}")
            }
            Remark::NewSquare(field) => write!(f, "{field} is a new locator in this log"),
        }
    }
}

/// What is odd about a contact that is not in the log yet.
pub fn remarks(contact: &Contact, log: &Log, sight: Option<&Sight>) -> Vec<Remark> {
    let mut found = Vec::new();
    found.extend(repeated(contact, log, sight.and_then(|sight| sight.pass)));
    if let Some(sight) = sight {
        found.extend(below(sight.elevation_deg, 0.0).map(|degrees| Remark::BelowHere { degrees }));
        found.extend(below_there(contact, sight));
    }
    found.extend(new_squares(contact, log));
    found
}

fn repeated(contact: &Contact, log: &Log, pass: Option<(Time, Time)>) -> Option<Remark> {
    let satellite = contact.satellite.as_ref()?;
    let in_pass = |time: Time| match pass {
        Some((rises, sets)) => rises <= time && time <= sets,
        None => seconds_between(time, contact.time).abs() < PASS_S,
    };
    let is_it = |(_, other): &(u32, &Contact)| {
        let is_satellite = other.satellite.as_ref().is_some_and(|own| own.eq_ignore_ascii_case(satellite));
        is_satellite && other.callsign == contact.callsign && in_pass(other.time)
    };
    log.contacts().find(is_it).map(|(id, other)| Remark::Repeated { id, time: other.time })
}

/// By how much an elevation is below what could be heard, if it may be off by so much.
fn below(elevation: f64, doubt_deg: f64) -> Option<f64> {
    (elevation + LIFTED_DEG + doubt_deg < 0.0).then_some(-elevation)
}

fn below_there(contact: &Contact, sight: &Sight) -> Option<Remark> {
    let squares = contact.locator.as_ref()?;
    let elevation = elevation_deg(&sight.satellite, &squares.middle());
    // So far along the Earth turns the horizon by this, and brings a low satellite nearer besides.
    let doubt = 1.5 * (squares.uncertainty_km() / EARTH_KM).to_degrees();
    below(elevation, doubt).map(|degrees| Remark::BelowThere { degrees, locator: squares.to_string() })
}

fn new_squares(contact: &Contact, log: &Log) -> Vec<Remark> {
    let Some(squares) = &contact.locator else { return Vec::new() };
    let is_known = |field: &String| {
        log.contacts()
            .any(|(_, other)| other.locator.as_ref().is_some_and(|known| known.fields().contains(field)))
    };
    squares.fields().into_iter().filter(|field| !is_known(field)).map(Remark::NewSquare).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::contacts::{Event, What};
    use crate::terms::parse_time;

    fn at(clock: &str) -> Time {
        parse_time(&format!("2026-11-25T{clock}Z")).unwrap()
    }

    fn contact(callsign: &str, clock: &str, locator: Option<&str>) -> Contact {
        Contact {
            satellite: Some("GANNET-1".to_owned()),
            locator: locator.map(|locator| locator.parse().unwrap()),
            ..Contact::new(callsign.parse().unwrap(), at(clock))
        }
    }

    fn log(contacts: &[Contact]) -> Log {
        let mut log = Log::default();
        for contact in contacts {
            let what = What::Added(contact.clone().into());
            log.take(Event::new(log.next_id(), contact.time, what)).unwrap();
        }
        log
    }

    fn over(latitude_deg: f64, longitude_deg: f64, elevation_deg: f64) -> Sight {
        let pass = Some((at("18:32:00"), at("18:44:00")));
        Sight { satellite: Geodetic { latitude_deg, longitude_deg, altitude_km: 500.0 }, elevation_deg, pass }
    }

    #[test]
    fn the_same_station_is_repeated_in_one_pass_and_not_in_the_next() {
        let log = log(&[contact("Q1ABC", "18:35:00", None)]);
        let told = |clock, pass| {
            let sight = Sight { pass, ..over(54.0, -2.5, 90.0) };
            remarks(&contact("Q1ABC", clock, None), &log, Some(&sight))
        };
        let pass = Some((at("18:32:00"), at("18:44:00")));
        assert_eq!(told("18:40:00", pass), [Remark::Repeated { id: 1, time: at("18:35:00") }]);
        assert_eq!(told("18:40:00", Some((at("18:38:00"), at("18:44:00")))), []);
        assert_eq!(told("18:49:59", None).len(), 1, "within a quarter of an hour");
        assert_eq!(told("18:50:00", None), []);
        assert_eq!(remarks(&contact("Q1ABD", "18:40:00", None), &log, None), []);
        let other = Contact { satellite: Some("TERN-1".to_owned()), ..contact("Q1ABC", "18:40:00", None) };
        assert_eq!(remarks(&other, &log, None), []);
    }

    /// A satellite at 500 km is seen for 2446 km around (the design's table: 4891 km across): IO84 lies
    /// at 54.5 N, 3 W; 24 degrees of latitude to the south are 2670 km.
    #[test]
    fn a_satellite_that_is_not_up_there_is_remarked_on() {
        let known = log(&[contact("Q1X", "08:00:00", Some("IO84"))]);
        let told = |sight| remarks(&contact("Q1ABC", "18:40:00", Some("IO84SA")), &known, Some(&sight));
        assert_eq!(told(over(54.0, -2.5, 90.0)), []);
        assert_eq!(told(over(33.0, -3.0, 30.0)), [], "21 degrees to the south it is up");
        let far = told(over(30.0, -3.0, 30.0));
        assert!(
            matches!(far[..], [Remark::BelowThere { degrees, .. }] if (1.0..4.0).contains(&degrees)),
            "{far:?}"
        );
        assert_eq!(told(over(54.0, -2.5, -0.5)), [], "refraction may have lifted it");
        assert_eq!(told(over(54.0, -2.5, -3.0)), [Remark::BelowHere { degrees: 3.0 }]);
    }

    #[test]
    fn a_locator_is_new_by_its_square_of_four_characters() {
        let known = log(&[contact("Q1X", "08:00:00", Some("IO84SA"))]);
        let told = |locator| remarks(&contact("Q1ABC", "18:40:00", Some(locator)), &known, None);
        assert_eq!(told("IO84XX"), []);
        assert_eq!(told("IO84,IO94"), [Remark::NewSquare("IO94".to_owned())]);
        assert_eq!(told("KP20LG")[0].to_string(), "KP20 is a new locator in this log");
    }
}
