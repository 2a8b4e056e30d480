//! Source: Astropy, by `tests/reference/make_look_table.py`.

use beamhand::sky::{Station, Track, eclipses, is_dark, sun_position_km, sun_seen_from, sunlit_windows};
use beamhand::terms::{Time, later, parse_time, seconds_between};

use crate::common::{distance, number, rows, sets};

const SUN: &str = include_str!("../reference/sun.csv");
const DEMO: &str = include_str!("../../config/demo/elements.txt");
const ASTRONOMICAL_UNIT_KM: f64 = 149_597_870.7;

#[test]
fn the_sun_stands_within_a_hundredth_of_a_degree() {
    let (mut count, mut worst_deg, mut worst_au) = (0, 0.0_f64, 0.0_f64);
    for row in rows(SUN) {
        let sun = sun_position_km(parse_time(row[0]).unwrap());
        let length = distance(sun, [0.0; 3]);
        let expected = [1, 2, 3].map(|column| number(row[column]));
        // For small angles the chord is the angle.
        worst_deg = worst_deg.max(distance(sun.map(|axis| axis / length), expected).to_degrees());
        worst_au = worst_au.max((length / ASTRONOMICAL_UNIT_KM - number(row[4])).abs());
        count += 1;
    }
    println!("{count} days, worst {worst_deg} deg, {worst_au} au");
    assert!(count >= 200 && worst_deg < 0.01 && worst_au < 1e-4, "{worst_deg} {worst_au}");
}

fn tern() -> Track {
    // The inclined orbit of the demo; some of the others never leave the sunlight in that week.
    Track::new(&sets(DEMO)[2], Station::new(54.0, -2.5, 120.0).unwrap()).unwrap()
}

fn day() -> (Time, Time) {
    (parse_time("2026-11-25T00:00:00Z").unwrap(), parse_time("2026-11-26T00:00:00Z").unwrap())
}

#[test]
fn the_sunlit_windows_are_where_single_looks_are_sunlit() {
    let (from, until) = day();
    let windows = sunlit_windows(&tern(), from, until).unwrap();
    assert!(windows.len() > 10, "{windows:?}");
    for seconds in (0..86_400).step_by(7) {
        let time = later(from, f64::from(seconds));
        let is_inside = windows.iter().any(|lit| lit.from <= time && time < lit.until);
        let is_at_an_edge = windows
            .iter()
            .any(|lit| [lit.from, lit.until].iter().any(|edge| seconds_between(*edge, time).abs() < 0.02));
        assert!(is_at_an_edge || tern().at(time).unwrap().sunlit == is_inside, "{time}");
    }
}

#[test]
fn an_eclipse_of_a_low_satellite_lasts_half_an_hour_and_its_edges_some_seconds() {
    // The Sun's disc is half a degree wide, and the satellite goes round in 95 minutes: at a right
    // angle it takes 8 seconds, slantwise longer. Common practice: up to 36 minutes of shadow.
    let (from, until) = day();
    let stays = eclipses(&tern(), from, until).unwrap();
    let whole: Vec<_> = stays.iter().filter(|stay| stay.dims.is_some() && stay.brightens.is_some()).collect();
    assert!(whole.len() >= 13, "{stays:?}");
    for stay in whole {
        let (dims, enters) = (stay.dims.unwrap(), stay.enters.unwrap());
        let (leaves, brightens) = (stay.leaves.unwrap(), stay.brightens.unwrap());
        assert!(stay.is_total);
        assert!((7.5..40.0).contains(&seconds_between(dims, enters)), "{stay:?}");
        assert!((7.5..40.0).contains(&seconds_between(leaves, brightens)), "{stay:?}");
        assert!((15.0 * 60.0..36.5 * 60.0).contains(&seconds_between(enters, leaves)), "{stay:?}");
    }
}

#[test]
fn an_eclipse_that_began_before_has_no_beginning() {
    let (from, until) = day();
    let whole = eclipses(&tern(), from, until).unwrap()[3];
    let middle = later(whole.enters.unwrap(), 300.0);
    let rest = eclipses(&tern(), middle, later(middle, 60.0)).unwrap();
    assert_eq!(rest.len(), 1);
    assert!(rest[0].is_total && rest[0].dims.is_none() && rest[0].enters.is_none());
    assert!(rest[0].leaves.is_none() && rest[0].brightens.is_none());
}

#[test]
fn it_gets_dark_when_the_sun_is_six_degrees_below_the_horizon() {
    // By hand: at 54 north with the Sun at -20.8 degrees the hour angle is 70.6 degrees, 4 h 42 min;
    // noon at 2.5 west is 11:57 UTC with an equation of time of 13 minutes: dusk ends at 16:39.
    let track = tern();
    let is_dark = |text: &str| is_dark(&track, parse_time(text).unwrap());
    assert!(!is_dark("2026-11-25T16:34:00Z") && is_dark("2026-11-25T16:44:00Z"));
    // And dawn begins as long before noon: at 07:15.
    assert!(is_dark("2026-11-25T07:10:00Z") && !is_dark("2026-11-25T07:20:00Z"));
}

#[test]
fn the_sun_is_south_at_apparent_noon_and_as_high_as_the_season_says() {
    // Worked by hand: at the June solstice the declination is +23.44 degrees, and the Sun crosses the
    // meridian of Greenwich at 12:01:50 UTC (equation of time -1.8 min, common almanac value).
    let greenwich = Station::new(51.48, 0.0, 0.0).unwrap();
    let noon = sun_seen_from(&greenwich, parse_time("2026-06-21T12:01:50Z").unwrap());
    assert!((noon.azimuth - 180.0).abs() < 0.3, "{noon:?}");
    assert!((noon.elevation - (90.0 - 51.48 + 23.44)).abs() < 0.02, "{noon:?}");
    let midnight = sun_seen_from(&greenwich, parse_time("2026-06-21T00:01:45Z").unwrap());
    assert!((midnight.elevation - (23.44 - (90.0 - 51.48))).abs() < 0.02, "{midnight:?}");
}
