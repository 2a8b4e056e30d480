//! The Sun's place, by the low-precision formulae of the Astronomical Almanac (page C5, from
//! memory; the tests compare them with a full theory).

use super::frames::seconds_since_j2000;
use crate::terms::Time;

/// Astronomical unit, km (IAU 2012).
const ASTRONOMICAL_UNIT_KM: f64 = 149_597_870.7;

/// Where the Sun is seen from the Earth's centre, km, in the frame of [`super::State`]; good to
/// 0.01 degrees between 1950 and 2050.
pub fn sun_position_km(time: Time) -> [f64; 3] {
    let days = seconds_since_j2000(time) / 86_400.0;
    let mean_longitude = 280.460 + 0.985_647_4 * days;
    let anomaly = (357.528 + 0.985_600_3 * days).to_radians();
    let longitude = mean_longitude + 1.915 * anomaly.sin() + 0.020 * (2.0 * anomaly).sin();
    let obliquity = 23.439 - 0.000_000_4 * days;
    let distance = 1.000_14 - 0.016_71 * anomaly.cos() - 0.000_14 * (2.0 * anomaly).cos();
    let (sin_lon, cos_lon) = longitude.to_radians().sin_cos();
    let (sin_obl, cos_obl) = obliquity.to_radians().sin_cos();
    [cos_lon, cos_obl * sin_lon, sin_obl * sin_lon].map(|axis| axis * distance * ASTRONOMICAL_UNIT_KM)
}
