//! How far a satellite is seen.

/// Mean radius of the Earth, km (IUGG).
pub(super) const EARTH_KM: f64 = 6371.0;

/// Great-circle distance from the sub-satellite point to where the satellite stands on the
/// horizon, km, on a spherical Earth without hills; zero at or below the ground.
pub fn footprint_radius_km(altitude_km: f64) -> f64 {
    EARTH_KM * (EARTH_KM / (EARTH_KM + altitude_km.max(0.0))).acos()
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
