//! The Sun's place, by the low-precision formulae of the Astronomical Almanac (page C5, from
//! memory; the tests compare them with a full theory).

use super::frames::seconds_since_j2000;
use super::observer::Observer;
use super::{EarthAngles, EarthFixed, State, Station};
use crate::terms::{AzEl, Time};

/// Astronomical unit, km (IAU 2012).
const ASTRONOMICAL_UNIT_KM: f64 = 149_597_870.7;

/// Sine and cosine of 23.439 degrees, the obliquity of the ecliptic in 2000.
const SIN_OBLIQUITY: f64 = 0.397_772_494_340_4;
const COS_OBLIQUITY: f64 = 0.917_484_083_102_4;

/// Where the Sun is seen from the Earth's centre, km, in the frame of [`super::State`]; good to
/// 0.01 degrees between 1950 and 2050.
pub fn sun_position_km(time: Time) -> [f64; 3] {
    let days = seconds_since_j2000(time) / 86_400.0;
    let mean_longitude = 280.460 + 0.985_647_4 * days;
    let anomaly = (357.528 + 0.985_600_3 * days).to_radians();
    let (sin, cos) = anomaly.sin_cos();
    // Of twice the anomaly.
    let (sin_2, cos_2) = (2.0 * sin * cos, 2.0 * cos * cos - 1.0);
    let longitude = mean_longitude + 1.915 * sin + 0.020 * sin_2;
    let distance = 1.000_14 - 0.016_71 * cos - 0.000_14 * cos_2;
    let (sin_lon, cos_lon) = longitude.to_radians().sin_cos();
    // Of the obliquity, 23.439 degrees less 4e-7 degrees a day.
    let shrunk = (4e-7 * days).to_radians();
    let (sin_obl, cos_obl) = (SIN_OBLIQUITY - shrunk * COS_OBLIQUITY, COS_OBLIQUITY + shrunk * SIN_OBLIQUITY);
    [cos_lon, cos_obl * sin_lon, sin_obl * sin_lon].map(|axis| axis * distance * ASTRONOMICAL_UNIT_KM)
}

/// Where the Sun is seen from a station: geometric, its middle, without refraction.
pub fn sun_seen_from(station: &Station, time: Time) -> AzEl {
    let sun = State { position_km: sun_position_km(time), velocity_km_s: [0.0; 3] };
    let seen = Observer::new(station).look_at(&EarthFixed::from_teme(&sun, time, &EarthAngles::default()));
    AzEl::new(seen.azimuth_deg, seen.elevation_deg)
}
