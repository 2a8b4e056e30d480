//! Error bars against satellites that really are somewhere else: sets with other angles, stations
//! at other places and clocks that are wrong, each propagated by itself.

use beamhand::sky::{ElementSet, Look, Miss, Station, Track, Uncertainty, next_pass, read_elements};
use beamhand::terms::{Time, later};

const DEMO: &str = include_str!("../../config/demo/elements.txt");

fn station() -> Station {
    Station::new(54.0, -2.5, 120.0).unwrap()
}

/// Nearly circles, so that an angle of the elements is an angle along the orbit.
fn circles() -> Vec<ElementSet> {
    read_elements(DEMO).sets.into_iter().map(|set| ElementSet { eccentricity: 0.0001, ..set }).collect()
}

fn track(set: &ElementSet) -> Track {
    Track::new(set, station()).unwrap()
}

/// Times of a pass some two days after the epoch, from near its AOS to near its LOS.
fn times(set: &ElementSet) -> Vec<Time> {
    let pass = next_pass(&track(set), later(set.epoch, 2.0 * 86_400.0), 48.0, 20.0).unwrap().unwrap();
    (1..10)
        .map(|tenth| later(pass.aos.unwrap(), pass.duration_s.unwrap() * f64::from(tenth) / 10.0))
        .collect()
}

/// A history of misses so large in one direction, and in no other, that nothing else counts.
fn missed(along_km: f64, cross_km: f64) -> [Miss; 8] {
    [Miss { age_days: 2.0, along_km, cross_km, radial_km: 0.0 }; 8]
}

/// Degrees on the sky and km/s from one look to another.
fn off(one: &Look, other: &Look) -> (f64, f64) {
    (one.direction().angle_to(other.direction()), (one.range_rate_km_s - other.range_rate_km_s).abs())
}

fn agree(said: Uncertainty, seen: (f64, f64), within: f64) {
    assert!((said.pointing_deg - seen.0).abs() <= within * seen.0 + 0.02, "{said:?} {seen:?}");
    assert!((said.range_rate_km_s - seen.1).abs() <= within * seen.1 + 0.001, "{said:?} {seen:?}");
}

/// A satellite further along the orbit has a larger mean anomaly, here by 30 km or so.
#[test]
fn a_satellite_ahead_of_its_set_is_where_and_as_fast_as_the_bars_say() {
    for set in circles() {
        let bars = track(&set).with_misses(&missed(30.0, 0.0));
        for time in times(&set) {
            let right = bars.at(time).unwrap();
            // On the ground below lies the radius that the height is counted from, 6,371 km or so.
            let angle_deg = (bars.orbit_error(time).along_km / (6371.0 + right.altitude_km)).to_degrees();
            let mean_anomaly_deg = set.mean_anomaly_deg + angle_deg;
            let ahead = track(&ElementSet { mean_anomaly_deg, ..set.clone() }).at(time).unwrap();
            agree(bars.uncertainty(time, 0.0).unwrap(), off(&right, &ahead), 0.05);
        }
    }
}

/// Where a satellite goes due north at the place itself, a plane turned about the pole is moved
/// sideways by the turn times the cosine of the latitude; only near there is the comparison one.
#[test]
fn a_satellite_beside_its_plane_is_where_the_bars_say() {
    let polar: ElementSet = ElementSet { inclination_deg: 90.0, ..circles().remove(1) };
    let bars = track(&polar).with_misses(&missed(0.0, 30.0));
    for time in times(&polar) {
        let right = bars.at(time).unwrap();
        let radius_km = 6371.0 + right.altitude_km;
        let turn = bars.orbit_error(time).cross_km / radius_km / right.latitude_deg.to_radians().cos();
        let right_ascension_deg = polar.right_ascension_deg + turn.to_degrees();
        let beside = track(&ElementSet { right_ascension_deg, ..polar.clone() }).at(time).unwrap();
        let said = bars.uncertainty(time, 0.0).unwrap();
        let (degrees, _) = off(&right, &beside);
        assert!((said.pointing_deg - degrees).abs() <= 0.05 * degrees + 0.05, "{said:?} {degrees}");
    }
}

#[test]
fn a_clock_that_is_wrong_is_wrong_by_what_the_bars_say() {
    for set in circles() {
        let bars = track(&set);
        for time in times(&set) {
            let seen = off(&bars.at(time).unwrap(), &bars.at(later(time, 20.0)).unwrap());
            let (said, without) =
                (bars.uncertainty(time, 20.0).unwrap(), bars.uncertainty(time, 0.0).unwrap());
            let added = |with: f64, without: f64| (with * with - without * without).sqrt();
            let pointing_deg = added(said.pointing_deg, without.pointing_deg);
            let range_rate_km_s = added(said.range_rate_km_s, without.range_rate_km_s);
            agree(Uncertainty { pointing_deg, range_rate_km_s, ..said }, seen, 1e-3);
            assert!((added(said.timing_s, without.timing_s) - 20.0).abs() < 1e-6);
        }
    }
}

/// Whoever lives somewhere in a square is off by what the bars say, on the average over the square:
/// a hundred places, evenly spread.
#[test]
fn a_square_is_as_uncertain_as_the_places_in_it() {
    let set = circles().remove(1);
    // The square IO84SA: from 2.5 degrees west, 54 degrees north, 5 by 2.5 minutes (the handbook).
    let square = Station::from_locator("IO84SA", 0.0).unwrap();
    let bars = Track::new(&set, square).unwrap();
    let known =
        Track::new(&set, Station::new(square.latitude_deg(), square.longitude_deg(), 0.0).unwrap()).unwrap();
    for time in times(&set) {
        let right = bars.at(time).unwrap();
        let (mut pointing, mut range_rate) = (0.0, 0.0);
        for (row, column) in (0..100).map(|n| (f64::from(n / 10) + 0.5, f64::from(n % 10) + 0.5)) {
            let place = Station::new(54.0 + row / 240.0, -2.5 + column / 120.0, 0.0).unwrap();
            let seen = off(&right, &Track::new(&set, place).unwrap().at(time).unwrap());
            pointing += seen.0.powi(2) / 100.0;
            range_rate += seen.1.powi(2) / 100.0;
        }
        let (said, without) = (bars.uncertainty(time, 0.0).unwrap(), known.uncertainty(time, 0.0).unwrap());
        let all =
            (pointing.sqrt().hypot(without.pointing_deg), range_rate.sqrt().hypot(without.range_rate_km_s));
        agree(said, all, 0.02);
        assert!(said.timing_s > without.timing_s);
    }
}

/// By hand: 400 to 800 km overhead a kilometre is 0.14 to 0.07 degrees. A set of the day before is good
/// to half a degree anywhere; one of a year ago is good for nothing.
#[test]
fn a_fresh_set_is_good_for_any_beam_and_an_old_one_for_none() {
    for set in read_elements(DEMO).sets {
        let bars = track(&set);
        let said = |days: f64| bars.uncertainty(later(set.epoch, days * 86_400.0), 0.0).ok();
        let (fresh, old) = (said(1.0).unwrap(), said(300.0));
        assert!(
            fresh.pointing_deg < 0.5 && fresh.timing_s < 1.0 && fresh.range_rate_km_s < 0.01,
            "{fresh:?}"
        );
        assert!(old.is_none_or(|old| old.timing_s > 50.0), "{} {old:?}", set.name);
    }
}
