//! How far a satellite is seen, and whether from a place.

use super::vector::{dot, minus, norm};
use super::{Geodetic, SkyError, Station, Track, distance_km};
use crate::terms::Time;

/// Mean radius of the Earth, km (IUGG).
pub(super) const EARTH_KM: f64 = 6371.0;

/// Great-circle distance from the sub-satellite point to where the satellite stands on the
/// horizon, km, on a spherical Earth without hills; zero at or below the ground.
pub fn footprint_radius_km(altitude_km: f64) -> f64 {
    EARTH_KM * (EARTH_KM / (EARTH_KM + altitude_km.max(0.0))).acos()
}

/// Whether a satellite is seen from a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coverage {
    /// Geometric, degrees: no hills, no refraction.
    pub elevation_deg: f64,
    /// From the point below the satellite to the place, along the ellipsoid, km.
    pub distance_km: f64,
}

impl Coverage {
    /// Whether the satellite stands above the place's horizon.
    pub fn is_inside(&self) -> bool {
        self.elevation_deg > 0.0
    }
}

/// How the track's satellite stands over some place, by the look from there.
///
/// # Errors
/// A satellite that can't be propagated to this time.
pub fn coverage(track: &Track, time: Time, place: Station) -> Result<Coverage, SkyError> {
    let look = track.seen_from(place).at(time)?;
    let below =
        Geodetic { latitude_deg: look.latitude_deg, longitude_deg: look.longitude_deg, altitude_km: 0.0 };
    Ok(Coverage { elevation_deg: look.elevation_deg, distance_km: distance_km(&below, &place.place()) })
}

/// How high a satellite at one place stands over another, degrees, without hills or refraction.
pub fn elevation_deg(satellite: &Geodetic, place: &Geodetic) -> f64 {
    let ground = place.to_earth_fixed();
    let away = minus(satellite.to_earth_fixed(), ground);
    let (sin_lat, cos_lat) = place.latitude_deg.to_radians().sin_cos();
    let (sin_lon, cos_lon) = place.longitude_deg.to_radians().sin_cos();
    let up = [cos_lat * cos_lon, cos_lat * sin_lon, sin_lat];
    (dot(away, up) / norm(away)).clamp(-1.0, 1.0).asin().to_degrees()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_satellite_at_600_km_joins_stations_4000_km_apart() {
        // Common practice through the low FM repeaters: 3,000 to 4,000 km.
        let reach = 2.0 * footprint_radius_km(600.0);
        assert!((4000.0..6000.0).contains(&reach), "{reach}");
        assert_eq!(footprint_radius_km(0.0), 0.0);
        assert_eq!(footprint_radius_km(-3.0), 0.0);
    }
}
