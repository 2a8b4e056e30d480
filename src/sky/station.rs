//! Where the aerials are.

use super::footprint::EARTH_KM;
use super::geodesy::Geodetic;
use super::locator::{Locator, LocatorError};

/// Heights that a station may have, metres: below the Dead Sea's shore to above any mountain.
const ALTITUDES_M: std::ops::RangeInclusive<f64> = -500.0..=9000.0;

/// A ground station: WGS-84 geodetic coordinates, checked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    latitude_deg: f64,
    longitude_deg: f64,
    altitude_m: f64,
    /// Standard deviations of a place that is only known by its square, north and east, degrees.
    doubt_deg: (f64, f64),
}

/// Coordinates that no station has.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StationError {
    /// Not a number, or beyond a pole.
    #[error("latitude {0} is not between -90 and 90 degrees (north is positive)")]
    Latitude(f64),
    /// Not a number, or more than once round.
    #[error("longitude {0} is not between -180 and 360 degrees (east is positive)")]
    Longitude(f64),
    /// Not a number, or no height that can be stood on.
    #[error("altitude {0} is not between -500 and 9000 metres above the ellipsoid")]
    Altitude(f64),
    /// No locator.
    #[error(transparent)]
    Locator(#[from] LocatorError),
}

impl Station {
    /// From latitude (north positive) and longitude (east positive, -180 to 360) in degrees and
    /// altitude in metres above the ellipsoid.
    pub fn new(latitude_deg: f64, longitude_deg: f64, altitude_m: f64) -> Result<Self, StationError> {
        if !(-90.0..=90.0).contains(&latitude_deg) {
            return Err(StationError::Latitude(latitude_deg));
        }
        if !(-180.0..=360.0).contains(&longitude_deg) {
            return Err(StationError::Longitude(longitude_deg));
        }
        if !ALTITUDES_M.contains(&altitude_m) {
            return Err(StationError::Altitude(altitude_m));
        }
        let longitude_deg = if longitude_deg > 180.0 { longitude_deg - 360.0 } else { longitude_deg };
        Ok(Self { latitude_deg, longitude_deg, altitude_m, doubt_deg: (0.0, 0.0) })
    }

    /// At the middle of a locator's square, which says how far off that can be.
    pub fn from_locator(locator: &str, altitude_m: f64) -> Result<Self, StationError> {
        Self::in_square(&locator.parse()?, altitude_m)
    }

    /// At the middle of a square, and equally likely anywhere else in it.
    pub fn in_square(square: &Locator, altitude_m: f64) -> Result<Self, StationError> {
        let middle = Self::new(square.latitude_deg(), square.longitude_deg(), altitude_m)?;
        // The deviation of a uniform distribution is its width divided by the root of 12.
        let (height_deg, width_deg) = square.size_deg();
        Ok(Self { doubt_deg: (height_deg / 12f64.sqrt(), width_deg / 12f64.sqrt()), ..middle })
    }

    /// Degrees, north positive.
    pub fn latitude_deg(&self) -> f64 {
        self.latitude_deg
    }

    /// Degrees, east positive, -180 to 180.
    pub fn longitude_deg(&self) -> f64 {
        self.longitude_deg
    }

    /// Metres above the ellipsoid.
    pub fn altitude_m(&self) -> f64 {
        self.altitude_m
    }

    /// Where it may be instead: a deviation to the north, and one to the east; nowhere else where the
    /// place is known.
    pub(super) fn instead(&self) -> impl Iterator<Item = Self> {
        let (north, east) = self.doubt_deg;
        // Over the pole lies the same latitude on the other side; near enough for one so near.
        let northward = Self { latitude_deg: (self.latitude_deg + north).min(90.0), ..*self };
        let eastward = Self { longitude_deg: self.longitude_deg + east, ..*self };
        [northward, eastward].into_iter().filter(move |other| other != self)
    }

    /// The standard deviation of its place in any one direction, km.
    pub(super) fn doubt_km(&self) -> f64 {
        let (north, east) = self.doubt_deg;
        let east = east * self.latitude_deg.to_radians().cos();
        north.hypot(east).to_radians() * EARTH_KM / 2f64.sqrt()
    }

    /// The same place with its height in km.
    pub fn place(&self) -> Geodetic {
        let Self { latitude_deg, longitude_deg, altitude_m, .. } = *self;
        Geodetic { latitude_deg, longitude_deg, altitude_km: altitude_m / 1000.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_that_no_station_has_are_refused_by_name() {
        assert_eq!(Station::new(90.1, 0.0, 0.0), Err(StationError::Latitude(90.1)));
        assert_eq!(Station::new(0.0, -181.0, 0.0), Err(StationError::Longitude(-181.0)));
        assert_eq!(Station::new(0.0, 0.0, 20_000.0), Err(StationError::Altitude(20_000.0)));
        assert!(Station::new(f64::NAN, 0.0, 0.0).is_err());
        assert!(Station::new(0.0, f64::INFINITY, 0.0).is_err());
        assert!(Station::from_locator("ZZ00", 0.0).is_err());
    }

    #[test]
    fn east_may_be_counted_all_the_way_round() {
        let station = Station::new(54.0, 357.5, 100.0).unwrap();
        assert_eq!(station.longitude_deg(), -2.5);
    }
}
