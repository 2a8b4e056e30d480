//! `[station]`.

use std::sync::Arc;

use crate::config::defaults;
use crate::config::document::Section;
use crate::config::document::kind::{Kind, azimuth_elevation, number, word};
use crate::config::settings::Station;
use crate::sky::{Grades, Horizon, Locator, Station as Position};

pub(super) fn station(mut station: Section<'_>) -> Option<Station> {
    let callsign = station.optional("callsign", &word());
    let place = place(&mut station);
    let altitude_m = station.or("altitude_m", &number(-500.0..=9000.0, "metres"), defaults::ALTITUDE_M);
    let minimum_elevation =
        station.or("minimum_elevation", &number(0.0..=89.0, "degrees"), defaults::MINIMUM_ELEVATION);
    let grades = grades(&mut station);
    let horizon = horizon(&mut station);
    station.finish();
    let (position, locator) = match place? {
        Place::Square(square) => (Position::in_square(&square, altitude_m).ok()?, Some(square)),
        Place::Point { latitude, longitude } => (Position::new(latitude, longitude, altitude_m).ok()?, None),
    };
    Some(Station { callsign, position, locator, minimum_elevation, grades, horizon })
}

/// Words in another order than their limits would judge nothing.
fn grades(station: &mut Section<'_>) -> Grades {
    let from = number(0.0..=90.0, "degrees");
    let Grades { fair_deg, high_deg, overhead_deg } = defaults::GRADES;
    let grades = Grades {
        fair_deg: station.or("fair_elevation", &from, fair_deg),
        high_deg: station.or("high_elevation", &from, high_deg),
        overhead_deg: station.or("overhead_elevation", &from, overhead_deg),
    };
    let Grades { fair_deg, high_deg, overhead_deg } = grades;
    if fair_deg > high_deg {
        station.refuse("fair_elevation", format!("`fair_elevation` is above `high_elevation`, {high_deg}"));
    }
    if high_deg > overhead_deg {
        station.refuse(
            "high_elevation",
            format!("`high_elevation` is above `overhead_elevation`, {overhead_deg}"),
        );
    }
    grades
}

fn horizon(station: &mut Section<'_>) -> Option<Arc<Horizon>> {
    let corners = station.list("horizon", &azimuth_elevation())?;
    Horizon::new(corners)
        .map(Arc::new)
        .inspect_err(|error| station.refuse("horizon", format!("`horizon`: {error}")))
        .ok()
}

enum Place {
    Square(Locator),
    Point { latitude: f64, longitude: f64 },
}

/// Coordinates or a locator, not both: there would be two places to keep in step.
fn place(station: &mut Section<'_>) -> Option<Place> {
    let by_locator = station.has("locator");
    let locator = station.optional("locator", &locator());
    if by_locator {
        station
            .forbid(["latitude", "longitude"], "`locator` says where the station is; give one or the other");
        return locator.map(Place::Square);
    }
    let latitude = station.required("latitude", &number(-90.0..=90.0, "degrees, north positive"));
    let longitude = station.required("longitude", &number(-180.0..=180.0, "degrees, east positive"));
    Some(Place::Point { latitude: latitude?, longitude: longitude? })
}

fn locator() -> Kind<Locator> {
    word().map("a locator of 4, 6 or 8 characters, such as \"IO84RA\"", |text| text.parse().ok())
}
