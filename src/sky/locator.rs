//! Maidenhead locators (IARU Region 1 VHF handbook): pairs of letters and digits, each pair
//! dividing the square before it, longitude first.

use std::fmt;
use std::str::FromStr;

use super::Station;
use super::footprint::EARTH_KM;

/// Per pair: first character, number of divisions, and the width of one in longitude and latitude,
/// degrees.
const PAIRS: [(u8, u32, f64, f64); 4] = [
    (b'A', 18, 20.0, 10.0),
    (b'0', 10, 2.0, 1.0),
    (b'A', 24, 2.0 / 24.0, 1.0 / 24.0),
    (b'0', 10, 0.2 / 24.0, 0.1 / 24.0),
];

/// A locator's square: four, six or eight characters.
#[derive(Debug, Clone, PartialEq)]
pub struct Locator {
    text: String,
    latitude_deg: f64,
    longitude_deg: f64,
}

/// A text that is no locator.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "\"{0}\" is no locator: four, six or eight characters such as IO84 or IO84SA (letters A to R, digits, letters A to X, digits)"
)]
pub struct LocatorError(String);

impl Locator {
    /// Latitude of the middle of the square, degrees.
    pub fn latitude_deg(&self) -> f64 {
        self.latitude_deg
    }

    /// Longitude of the middle of the square, degrees, east positive.
    pub fn longitude_deg(&self) -> f64 {
        self.longitude_deg
    }

    /// Height and width of the square, degrees.
    pub fn size_deg(&self) -> (f64, f64) {
        let (_, _, width, height) = PAIRS[self.text.len() / 2 - 1];
        (height, width)
    }

    /// How far a station can be from the middle of its square, km: half of the diagonal.
    pub fn uncertainty_km(&self) -> f64 {
        let (height, width) = self.size_deg();
        let nearer_equator = (self.latitude_deg.abs() - height / 2.0).max(0.0);
        let km_per_degree = EARTH_KM.to_radians();
        (width / 2.0 * nearer_equator.to_radians().cos()).hypot(height / 2.0) * km_per_degree
    }
}

impl FromStr for Locator {
    type Err = LocatorError;
    fn from_str(text: &str) -> Result<Self, LocatorError> {
        let refused = || LocatorError(text.to_owned());
        let capitals = text.trim().to_ascii_uppercase();
        if !matches!(capitals.len(), 4 | 6 | 8) {
            return Err(refused());
        }
        let (mut longitude_deg, mut latitude_deg) = (-180.0, -90.0);
        for (pair, (first, divisions, width, height)) in capitals.as_bytes().chunks(2).zip(PAIRS) {
            let count = |character: u8| {
                let index = u32::from(character.checked_sub(first)?);
                (index < divisions).then_some(f64::from(index))
            };
            longitude_deg += width * count(pair[0]).ok_or_else(refused)?;
            latitude_deg += height * count(pair[1]).ok_or_else(refused)?;
        }
        let (_, _, width, height) = PAIRS[capitals.len() / 2 - 1];
        let (latitude_deg, longitude_deg) = (latitude_deg + height / 2.0, longitude_deg + width / 2.0);
        Ok(Self { text: capitals, latitude_deg, longitude_deg })
    }
}

impl fmt::Display for Locator {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

/// The six-character locator in which a station lies; the poles and the date line belong to the
/// squares that touch them.
pub fn locator_of(station: &Station) -> String {
    let mut longitude = station.longitude_deg() + 180.0;
    let mut latitude = station.latitude_deg() + 90.0;
    let mut text = String::new();
    for (first, divisions, width, height) in PAIRS.into_iter().take(3) {
        for (rest, step) in [(&mut longitude, width), (&mut latitude, height)] {
            let index = ((*rest / step) as u32).min(divisions - 1);
            *rest -= f64::from(index) * step;
            text.push(char::from(first + index as u8));
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_middle_of_the_square_is_taken() {
        // Corners by hand from the handbook's definition: J is the tenth letter, so JJ00AA starts
        // at 0 degrees east, 0 north, and is 5 by 2.5 minutes large.
        let square: Locator = "jj00aa".parse().unwrap();
        assert!((square.longitude_deg() - 2.5 / 60.0).abs() < 1e-12);
        assert!((square.latitude_deg() - 1.25 / 60.0).abs() < 1e-12);
        let square: Locator = "IO84".parse().unwrap();
        assert!((square.longitude_deg() + 3.0).abs() < 1e-12 && (square.latitude_deg() - 54.5).abs() < 1e-12);
        let square: Locator = "AA00AA00".parse().unwrap();
        assert!((square.longitude_deg() + 180.0 - 0.25 / 60.0).abs() < 1e-12, "{square:?}");
    }

    #[test]
    fn a_station_lies_in_its_own_square() {
        for text in ["IO84SA", "AA00AA", "RR99XX", "QF44FS", "GG87JC", "KP20LG"] {
            assert_eq!(locator_of(&Station::from_locator(text, 0.0).unwrap()), text);
        }
        assert_eq!(locator_of(&Station::new(90.0, 180.0, 0.0).unwrap()), "RR99XX");
        assert_eq!(locator_of(&Station::new(-90.0, -180.0, 0.0).unwrap()), "AA00AA");
    }

    #[test]
    fn a_six_character_square_can_cost_three_quarters_of_a_degree_at_400_km() {
        let square: Locator = "JJ00AA".parse().unwrap();
        let degrees = (square.uncertainty_km() / 400.0).atan().to_degrees();
        assert!((degrees - 0.74).abs() < 0.01, "{degrees}");
    }

    #[test]
    fn what_is_no_locator_is_refused() {
        for text in
            ["", "IO", "IO8", "IO84S", "SO84", "IO84SY", "IO84SA1", "IO84SA123", "ÄÖ84", "I\u{a0}84", "84IO"]
        {
            assert!(text.parse::<Locator>().is_err(), "{text}");
        }
    }
}
