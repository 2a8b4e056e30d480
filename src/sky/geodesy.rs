//! The WGS-84 ellipsoid (NIMA TR8350.2).

use super::vector::Vector;

/// Equatorial radius, km.
const EQUATOR_KM: f64 = 6378.137;
/// Flattening.
const FLATTENING: f64 = 1.0 / 298.257_223_563;
/// Square of the first eccentricity.
const ECCENTRICITY_2: f64 = FLATTENING * (2.0 - FLATTENING);

/// A place by geodetic latitude, longitude and height above the ellipsoid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Geodetic {
    /// Degrees, north positive.
    pub latitude_deg: f64,
    /// Degrees, east positive, -180 to 180.
    pub longitude_deg: f64,
    /// km above the ellipsoid.
    pub altitude_km: f64,
}

impl Geodetic {
    /// The place in Earth-fixed coordinates, km.
    pub fn to_earth_fixed(&self) -> [f64; 3] {
        let (sin_lat, cos_lat) = self.latitude_deg.to_radians().sin_cos();
        let (sin_lon, cos_lon) = self.longitude_deg.to_radians().sin_cos();
        let normal = normal_km(sin_lat);
        let ring = (normal + self.altitude_km) * cos_lat;
        let height = (normal * (1.0 - ECCENTRICITY_2) + self.altitude_km) * sin_lat;
        [ring * cos_lon, ring * sin_lon, height]
    }

    /// From Earth-fixed coordinates, km; anywhere at or above the surface, the poles included.
    ///
    /// Bowring's iteration on the parametric latitude (Survey Review 23, 1976), without angles: once
    /// is good to a millimetre near the ground, twice reach the last bit anywhere.
    pub fn from_earth_fixed(position_km: [f64; 3]) -> Self {
        let [x, y, z]: Vector = position_km;
        let ring = (x * x + y * y).sqrt();
        let pole_km = EQUATOR_KM * (1.0 - FLATTENING);
        let second = ECCENTRICITY_2 / (1.0 - ECCENTRICITY_2);
        let unit = |up: f64, out: f64| {
            let length = (up * up + out * out).sqrt();
            (up / length, out / length)
        };
        // Any multiple of the sine and cosine of the latitude.
        let (mut up, mut out) = (z, ring * (1.0 - ECCENTRICITY_2));
        for _ in 0..2 {
            let (sin, cos) = unit(up * (1.0 - FLATTENING), out);
            up = z + second * pole_km * sin * sin * sin;
            out = ring - ECCENTRICITY_2 * EQUATOR_KM * cos * cos * cos;
        }
        let (sin_lat, cos_lat) = unit(up, out);
        let foot = normal_km(sin_lat) * (1.0 - ECCENTRICITY_2 * sin_lat * sin_lat);
        Self {
            latitude_deg: sin_lat.atan2(cos_lat).to_degrees(),
            longitude_deg: y.atan2(x).to_degrees(),
            altitude_km: ring * cos_lat + z * sin_lat - foot,
        }
    }
}

/// Length of the ellipsoid's normal down to the axis, km.
fn normal_km(sin_latitude: f64) -> f64 {
    EQUATOR_KM / (1.0 - ECCENTRICITY_2 * sin_latitude * sin_latitude).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_and_back_again_is_the_same_place() {
        for latitude_deg in [-90.0, -89.999, -45.0, 0.0, 0.001, 54.0, 90.0] {
            for longitude_deg in [-180.0, -2.5, 0.0, 120.0] {
                for altitude_km in [0.0, 0.05, 500.0, 36_000.0] {
                    let place = Geodetic { latitude_deg, longitude_deg, altitude_km };
                    let again = Geodetic::from_earth_fixed(place.to_earth_fixed());
                    assert!((again.latitude_deg - latitude_deg).abs() < 1e-12, "{place:?} {again:?}");
                    assert!((again.altitude_km - altitude_km).abs() < 1e-9, "{place:?} {again:?}");
                }
            }
        }
    }

    #[test]
    fn the_axes_of_the_ellipsoid_are_those_of_the_standard() {
        let pole = Geodetic { latitude_deg: 90.0, longitude_deg: 0.0, altitude_km: 0.0 }.to_earth_fixed();
        let equator = Geodetic { latitude_deg: 0.0, longitude_deg: 90.0, altitude_km: 0.0 }.to_earth_fixed();
        assert!((pole[2] - 6_356.752_314_2).abs() < 1e-6 && pole[0].abs() < 1e-9);
        assert!((equator[1] - 6378.137).abs() < 1e-9 && equator[0].abs() < 1e-9);
    }
}
