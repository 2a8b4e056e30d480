//! How fast the range can change in any pass of an orbit.

use crate::sky::{ElementSet, Station};

/// The Earth's gravity, km^3/s^2, of WGS-72, which element sets are made for.
const GRAVITY: f64 = 398_600.8;
/// The Earth's turning, rad/s (IERS conventions).
const TURNING: f64 = 7.292_115e-5;
/// Between the horizon of a station on the ellipsoid and that on a ball, degrees (geometry: 0.193).
const TILT_DEG: f64 = 0.2;
/// What the Earth's flattening does to the speed of a low orbit within a revolution (0.14 % of 7.7 km/s,
/// first order in J2), and what a set loses with age, km/s.
const MARGIN_KM_S: f64 = 0.02;
/// Points of the orbit that are looked at; between two of them nothing changes by more than the margin.
const POINTS: u32 = 720;

/// A bound on the range rate of any pass above an elevation, km/s, approaching and receding alike.
///
/// The satellite's velocity over the turning ground has a part outward and a part along the horizon,
/// which for a radius r, a transverse speed v and an inclination i is at most
/// sqrt(v^2 - 2 v w r cos i + w^2 r^2). The line of sight is inclined to the vertical at the satellite by
/// an angle whose sine is R cos(elevation) / r. The largest sum of both parts along that line is taken
/// over the orbit (two-body motion, textbook), and a margin for what two-body motion leaves out.
pub fn largest_range_rate(set: &ElementSet, station: &Station, minimum_elevation_deg: f64) -> f64 {
    let per_second = set.mean_motion_rev_day * std::f64::consts::TAU / 86_400.0;
    let axis = (GRAVITY / (per_second * per_second)).cbrt();
    let parameter = axis * (1.0 - set.eccentricity * set.eccentricity);
    let outward = (GRAVITY / parameter).sqrt() * set.eccentricity;
    let momentum = (GRAVITY * parameter).sqrt();
    let inclination = set.inclination_deg.to_radians().cos();
    let elevation = (minimum_elevation_deg - TILT_DEG).max(0.0).to_radians();
    // Nobody stands higher above the Earth's middle than on its widest circle.
    let station_km = 6378.137 + station.altitude_m().max(0.0) / 1000.0;
    let at = |point: u32| {
        let (sine, cosine) = (f64::from(point) / f64::from(POINTS) * std::f64::consts::TAU).sin_cos();
        let radius = parameter / (1.0 + set.eccentricity * cosine);
        let (across, turning) = (momentum / radius, TURNING * radius);
        let level = (across * across - 2.0 * across * turning * inclination + turning * turning).sqrt();
        let slant = (station_km * elevation.cos() / radius).min(1.0);
        level * slant + (outward * sine).abs() * (1.0 - slant * slant).sqrt()
    };
    (0..POINTS).map(at).fold(0.0, f64::max) + MARGIN_KM_S
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::parse_time;

    fn circular(mean_motion_rev_day: f64, inclination_deg: f64) -> ElementSet {
        ElementSet {
            name: "GANNET-1".to_owned(),
            catalog_number: 99_002,
            epoch: parse_time("2026-11-24T00:00:00Z").unwrap(),
            inclination_deg,
            right_ascension_deg: 0.0,
            eccentricity: 0.0,
            argument_of_perigee_deg: 0.0,
            mean_anomaly_deg: 0.0,
            mean_motion_rev_day,
            drag_term: 0.0,
        }
    }

    /// By hand: 15.2192 rev/day = 1.106 78e-3 rad/s; axis 6877.8 km, speed 7.6128 km/s. A polar orbit over
    /// ground that turns by 0.5015 km/s below it: 7.6293 km/s, of which 6378.137 / 6877.8 = 0.92735 lie
    /// along the line to the horizon: 7.0751 km/s.
    #[test]
    fn a_polar_orbit_of_500_kilometres_comes_on_at_seven_kilometres_a_second() {
        let station = Station::new(54.0, -2.5, 0.0).unwrap();
        let bound = largest_range_rate(&circular(15.2192, 90.0), &station, 0.0) - MARGIN_KM_S;
        assert!((bound - 7.0751).abs() < 0.001, "{bound}");
        let higher = largest_range_rate(&circular(15.2192, 90.0), &station, 60.2) - MARGIN_KM_S;
        assert!((higher - 7.0751 / 2.0).abs() < 0.001, "half of it at 60 degrees: {higher}");
    }

    #[test]
    fn what_turns_with_the_earth_stands_still() {
        let station = Station::new(0.0, 0.0, 0.0).unwrap();
        let bound = largest_range_rate(&circular(1.002_737_9, 0.0), &station, 0.0) - MARGIN_KM_S;
        assert!(bound.abs() < 1e-4, "{bound}");
    }
}
