//! A station's horizon: which way is east, north and up.

use super::vector::{Vector, dot, minus, norm};
use super::{EarthFixed, Station};

/// A station prepared for many questions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Observer {
    position_km: Vector,
    east: Vector,
    north: Vector,
    up: Vector,
}

/// Direction, distance and its change, seen from a station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Topocentric {
    /// From true north, clockwise, 0 up to but not including 360 degrees.
    pub azimuth_deg: f64,
    /// Above the horizon, geometric (no refraction), degrees.
    pub elevation_deg: f64,
    /// Distance from the station, km.
    pub range_km: f64,
    /// Change of the distance, km/s, positive when receding.
    pub range_rate_km_s: f64,
}

impl Observer {
    pub(super) fn new(station: &Station) -> Self {
        let (sin_lat, cos_lat) = station.latitude_deg().to_radians().sin_cos();
        let (sin_lon, cos_lon) = station.longitude_deg().to_radians().sin_cos();
        Self {
            position_km: station.place().to_earth_fixed(),
            east: [-sin_lon, cos_lon, 0.0],
            north: [-sin_lat * cos_lon, -sin_lat * sin_lon, cos_lat],
            up: [cos_lat * cos_lon, cos_lat * sin_lon, sin_lat],
        }
    }

    pub(super) fn position_km(&self) -> Vector {
        self.position_km
    }

    /// The zenith, a unit vector.
    pub(super) fn up(&self) -> Vector {
        self.up
    }

    /// Geometric: no refraction, no light time (per 1000 km 3 ms, in which the satellite goes on by
    /// 25 m).
    pub(super) fn look_at(&self, satellite: &EarthFixed) -> Topocentric {
        let line = minus(satellite.position_km, self.position_km);
        let (east, north, up) = (dot(line, self.east), dot(line, self.north), dot(line, self.up));
        let range_km = norm(line);
        Topocentric {
            azimuth_deg: full_circle(east.atan2(north).to_degrees()),
            elevation_deg: up.atan2((east * east + north * north).sqrt()).to_degrees(),
            range_km,
            range_rate_km_s: dot(line, satellite.velocity_km_s) / range_km,
        }
    }
}

/// From -180..180 to 0..360, the end left out: a tiny negative angle rounds to 360 itself.
fn full_circle(degrees: f64) -> f64 {
    let turned = if degrees < 0.0 { degrees + 360.0 } else { degrees };
    if turned < 360.0 { turned } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn azimuth_never_reads_360() {
        assert_eq!(full_circle(-1e-20), 0.0);
        assert_eq!(full_circle(-90.0), 270.0);
        assert_eq!(full_circle(180.0), 180.0);
    }

    #[test]
    fn north_is_0_east_90_and_overhead_is_90_high() {
        let station = Station::new(0.0, 0.0, 0.0).unwrap();
        let look = |position_km| {
            let satellite = EarthFixed { position_km, velocity_km_s: [1.0, 0.0, 0.0] };
            Observer::new(&station).look_at(&satellite)
        };
        let overhead = look([7378.137, 0.0, 0.0]);
        assert!((overhead.elevation_deg - 90.0).abs() < 1e-9 && (overhead.range_km - 1000.0).abs() < 1e-9);
        assert!((overhead.range_rate_km_s - 1.0).abs() < 1e-12);
        assert!(look([6378.137, 0.0, 1000.0]).azimuth_deg.abs() < 1e-9);
        assert!((look([6378.137, 1000.0, 0.0]).azimuth_deg - 90.0).abs() < 1e-9);
        assert!((look([6378.137, -1000.0, 0.0]).azimuth_deg - 270.0).abs() < 1e-9);
        assert!(look([6378.137, 0.0, -1000.0]).elevation_deg.abs() < 1e-9);
    }
}
