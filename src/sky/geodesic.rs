//! How far places are from each other, and in which direction.

use geographiclib_rs::{Geodesic, InverseGeodesic};

use super::Geodetic;

/// The shortest way along the WGS-84 ellipsoid, km; heights do not count (Karney, Journal of Geodesy
/// 87, 2013).
pub fn distance_km(one: &Geodetic, other: &Geodetic) -> f64 {
    let metres: f64 = Geodesic::wgs84().inverse(
        one.latitude_deg,
        one.longitude_deg,
        other.latitude_deg,
        other.longitude_deg,
    );
    metres / 1000.0
}

/// The direction in which the shortest way along the WGS-84 ellipsoid begins, degrees clockwise from true
/// north, 0 to 360 (as [`distance_km`]); `None` from a place to itself.
pub fn bearing_deg(from: &Geodetic, to: &Geodetic) -> Option<f64> {
    let (metres, azimuth, ..): (f64, f64, f64, f64) =
        Geodesic::wgs84().inverse(from.latitude_deg, from.longitude_deg, to.latitude_deg, to.longitude_deg);
    (metres > 0.0).then(|| azimuth.rem_euclid(360.0))
}
