//! Invented satellites that are up when a test wants them.

use beamhand::terms::{Time, parse_time, seconds_between};
use chrono::{Datelike as _, Timelike as _};

const INCLINATION_DEG: f64 = 97.4;
/// Some 510 km high: 86,400 s over Kepler's period of 94.6 minutes.
const TURNS_A_DAY: f64 = 15.22;

/// The element set of a circular orbit that crosses this place northward at this time.
pub(crate) fn crossing(latitude_deg: f64, longitude_deg: f64, at: Time) -> String {
    let inclination = INCLINATION_DEG.to_radians();
    let along = (latitude_deg.to_radians().sin() / inclination.sin()).asin();
    // Spherical triangle of equator, orbit and meridian: how far east of its node the place lies.
    let east_of_node = (inclination.cos() * along.sin()).atan2(along.cos()).to_degrees();
    let node = (sidereal_deg(at) + longitude_deg - east_of_node).rem_euclid(360.0);
    let (year, day) = (at.year() % 100, f64::from(at.ordinal()) + seconds_of_day(at) / 86_400.0);
    let first = format!("1 99002U 26002A   {year:02}{day:012.8}  .00000000  00000-0  00000-0 0    1");
    let second = format!(
        "2 99002 {INCLINATION_DEG:8.4} {node:8.4} 0000100   0.0000 {:8.4} {TURNS_A_DAY:11.8}    1",
        along.to_degrees()
    );
    format!("GANNET-1\n{}\n{}\n", with_checksum(&first), with_checksum(&second))
}

fn seconds_of_day(at: Time) -> f64 {
    f64::from(at.num_seconds_from_midnight()) + f64::from(at.nanosecond()) * 1e-9
}

/// Greenwich's sidereal time, good to a hundredth of a degree in this century (Meeus, Astronomical
/// Algorithms, ch. 12, linear terms).
fn sidereal_deg(at: Time) -> f64 {
    let days = seconds_between(parse_time("2000-01-01T12:00:00Z").unwrap(), at) / 86_400.0;
    (280.460_618_37 + 360.985_647_366_29 * days).rem_euclid(360.0)
}

/// Digits count as themselves, a minus sign as one.
fn with_checksum(line: &str) -> String {
    let value = |byte: u8| if byte == b'-' { 1 } else { u32::from(byte.wrapping_sub(b'0')) };
    let counts = |byte: &u8| byte.is_ascii_digit() || *byte == b'-';
    format!("{line}{}", line.bytes().filter(counts).map(value).sum::<u32>() % 10)
}
