//! How far places are from each other.

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
