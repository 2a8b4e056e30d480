//! From the frame in which orbits are propagated to the one that turns with the Earth
//! (Vallado et al., AIAA 2006-6753, appendix C).

use std::f64::consts::TAU;

use serde::{Deserialize, Serialize};

use super::State;
use super::vector::Vector;
use crate::terms::Time;

/// The Earth's rotation, rad/s (Vallado et al., with a length of day of exactly 86,400 s).
pub(super) const ROTATION_RAD_S: f64 = 7.292_115_146_706_979e-5;

/// Radians in an arc second.
const ARCSEC_RAD: f64 = TAU / (360.0 * 3600.0);

/// 2000-01-01 12:00, seconds after 1970-01-01.
const J2000_UNIX_S: i64 = 946_728_000;

/// How the real Earth differs from one that turns evenly about its figure axis (IERS). Zero, the
/// default, takes UT1 = UTC and no polar motion.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct EarthAngles {
    /// UT1 - UTC, seconds.
    pub ut1_minus_utc_s: f64,
    /// Pole coordinate along the Greenwich meridian, arc seconds.
    pub polar_x_arcsec: f64,
    /// Pole coordinate along 90 degrees west, arc seconds.
    pub polar_y_arcsec: f64,
}

/// Where a satellite is, in the frame that turns with the Earth: x towards latitude 0 longitude
/// 0, z towards north.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EarthFixed {
    /// km.
    pub position_km: [f64; 3],
    /// Relative to the turning Earth, km/s.
    pub velocity_km_s: [f64; 3],
}

impl EarthFixed {
    /// Turns a propagated state by Greenwich mean sidereal time, without the equation of the
    /// equinoxes (the frame's mean equinox is what this time counts from), then by polar motion.
    pub fn from_teme(state: &State, time: Time, angles: &EarthAngles) -> Self {
        let (sin, cos) = sidereal_angle_rad(time, angles.ut1_minus_utc_s).sin_cos();
        let turn = |v: Vector| [cos * v[0] + sin * v[1], cos * v[1] - sin * v[0], v[2]];
        let position = turn(state.position_km);
        let velocity = turn(state.velocity_km_s);
        let relative = [
            velocity[0] + ROTATION_RAD_S * position[1],
            velocity[1] - ROTATION_RAD_S * position[0],
            velocity[2],
        ];
        // Polar motion to first order: the angles are below an arc second.
        let x = angles.polar_x_arcsec * ARCSEC_RAD;
        let y = angles.polar_y_arcsec * ARCSEC_RAD;
        let tilt = |v: Vector| [v[0] + x * v[2], v[1] - y * v[2], v[2] - x * v[0] + y * v[1]];
        Self { position_km: tilt(position), velocity_km_s: tilt(relative) }
    }
}

/// A direction of the turning Earth in the frame of [`State`].
pub(super) fn to_teme(v: Vector, time: Time) -> Vector {
    let (sin, cos) = sidereal_angle_rad(time, 0.0).sin_cos();
    [cos * v[0] - sin * v[1], sin * v[0] + cos * v[1], v[2]]
}

/// Greenwich mean sidereal time (IAU 1982), radians.
fn sidereal_angle_rad(utc: Time, ut1_minus_utc_s: f64) -> f64 {
    let centuries = (seconds_since_j2000(utc) + ut1_minus_utc_s) / (86_400.0 * 36_525.0);
    let seconds = 67_310.548_41
        + centuries
            * ((876_600.0 * 3600.0 + 8_640_184.812_866) + centuries * (0.093_104 - centuries * 6.2e-6));
    let turns = seconds / 86_400.0;
    (turns - turns.floor()) * TAU
}

/// Seconds since 2000-01-01 12:00 on the same scale as `time`.
pub(super) fn seconds_since_j2000(time: Time) -> f64 {
    (time.timestamp() - J2000_UNIX_S) as f64 + f64::from(time.timestamp_subsec_nanos()) * 1e-9
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::parse_time;

    #[test]
    fn sidereal_time_agrees_with_the_worked_example() {
        // Vallado, Fundamentals of Astrodynamics and Applications, example 3-5:
        // 1992 August 20, 12:14 UT1 is 152.578788 degrees.
        let time = parse_time("1992-08-20T12:14:00Z").unwrap();
        let degrees = sidereal_angle_rad(time, 0.0).to_degrees();
        assert!((degrees - 152.578_788).abs() < 1e-6, "{degrees}");
    }

    #[test]
    fn a_body_that_turns_with_the_earth_stands_still() {
        let time = parse_time("2026-11-25T18:30:00Z").unwrap();
        let speed = 7000.0 * ROTATION_RAD_S;
        let state = State { position_km: [7000.0, 0.0, 0.0], velocity_km_s: [0.0, speed, 0.0] };
        let fixed = EarthFixed::from_teme(&state, time, &EarthAngles::default());
        assert!(fixed.velocity_km_s.iter().all(|v| v.abs() < 1e-12), "{fixed:?}");
    }
}
