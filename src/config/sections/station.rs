//! `[station]`.

use crate::config::defaults;
use crate::config::document::Section;
use crate::config::document::kind::{Kind, number, word};
use crate::config::settings::Station;
use crate::sky::{Locator, Station as Position};

pub(super) fn station(mut station: Section<'_>) -> Option<Station> {
    let callsign = station.optional("callsign", &word());
    let place = place(&mut station);
    let altitude_m = station.or("altitude_m", &number(-500.0..=9000.0, "metres"), defaults::ALTITUDE_M);
    let minimum_elevation =
        station.or("minimum_elevation", &number(0.0..=89.0, "degrees"), defaults::MINIMUM_ELEVATION);
    station.finish();
    let (latitude, longitude, locator) = place?;
    let position = Position::new(latitude, longitude, altitude_m).ok()?;
    Some(Station { callsign, position, locator, minimum_elevation })
}

/// Coordinates or a locator, not both: there would be two places to keep in step.
fn place(station: &mut Section<'_>) -> Option<(f64, f64, Option<Locator>)> {
    let by_locator = station.has("locator");
    let locator = station.optional("locator", &locator());
    if by_locator {
        station
            .forbid(["latitude", "longitude"], "`locator` says where the station is; give one or the other");
        return locator.map(|square| (square.latitude_deg(), square.longitude_deg(), Some(square)));
    }
    let latitude = station.required("latitude", &number(-90.0..=90.0, "degrees, north positive"));
    let longitude = station.required("longitude", &number(-180.0..=180.0, "degrees, east positive"));
    Some((latitude?, longitude?, None))
}

fn locator() -> Kind<Locator> {
    word().map("a locator of 4, 6 or 8 characters, such as \"IO84RA\"", |text| text.parse().ok())
}
