//! `[station]`.

use crate::config::defaults;
use crate::config::document::Section;
use crate::config::document::kind::{Kind, number, word};
use crate::config::settings::{Place, Station};

pub(super) fn station(mut station: Section<'_>) -> Option<Station> {
    let callsign = station.optional("callsign", &word());
    let place = place(&mut station);
    let altitude_m = station.or("altitude_m", &number(-500.0..=9000.0, "metres"), defaults::ALTITUDE_M);
    let minimum_elevation =
        station.or("minimum_elevation", &number(0.0..=89.0, "degrees"), defaults::MINIMUM_ELEVATION);
    station.finish();
    Some(Station { callsign, place: place?, altitude_m, minimum_elevation })
}

/// Coordinates or a locator, not both: there would be two places to keep in step.
fn place(station: &mut Section<'_>) -> Option<Place> {
    let by_locator = station.has("locator");
    let locator = station.optional("locator", &locator());
    if by_locator {
        station
            .forbid(["latitude", "longitude"], "`locator` says where the station is; give one or the other");
        return locator.map(Place::Locator);
    }
    let latitude = station.required("latitude", &number(-90.0..=90.0, "degrees, north positive"));
    let longitude = station.required("longitude", &number(-180.0..=180.0, "degrees, east positive"));
    Some(Place::Coordinates { latitude: latitude?, longitude: longitude? })
}

fn locator() -> Kind<String> {
    word().map("a locator of 4, 6 or 8 characters, such as \"JN57uv\"", |text| {
        is_locator(&text).then_some(text)
    })
}

/// Field, square, sub-square, extended square (IARU Region 1 VHF handbook).
fn is_locator(text: &str) -> bool {
    let allowed: [fn(u8) -> bool; 4] = [
        |c| c.to_ascii_uppercase().is_ascii_uppercase() && c.to_ascii_uppercase() <= b'R',
        |c| c.is_ascii_digit(),
        |c| c.to_ascii_uppercase().is_ascii_uppercase() && c.to_ascii_uppercase() <= b'X',
        |c| c.is_ascii_digit(),
    ];
    matches!(text.len(), 4 | 6 | 8) && text.bytes().enumerate().all(|(i, c)| allowed[i / 2](c))
}

#[cfg(test)]
mod tests {
    use super::is_locator;

    #[test]
    fn locators_have_letters_and_digits_where_they_belong() {
        for good in ["JN57", "jn57uv", "IO84RA55", "AA00aa00", "RR99XX"] {
            assert!(is_locator(good), "{good}");
        }
        for bad in ["", "JN5", "JN57u", "SN57", "J157", "JN57yv", "JN57uvx1", "JN57uv123", "ÄN5"] {
            assert!(!is_locator(bad), "{bad}");
        }
    }
}
