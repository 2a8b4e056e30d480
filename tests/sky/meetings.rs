//! When two stations share a satellite, and how far apart they are.

use beamhand::sky::passes::{Meeting, meetings};
use beamhand::sky::{
    Geodetic, Station, Track, bearing_deg, coverage, distance_km, elevation_deg, footprint_radius_km,
};
use beamhand::terms::{Time, later, parse_time};

use crate::common::{number, rows, sets};

/// Source: GeographicLib, by `tests/reference/make_geodesic_table.py`.
const DISTANCES: &str = include_str!("../reference/geodesic.csv");
const DEMO: &str = include_str!("../../config/demo/elements.txt");

const HOURS: f64 = 24.0;

#[test]
fn distances_and_bearings_agree_with_the_reference() {
    let mut count = 0;
    for row in rows(DISTANCES) {
        let [latitude, longitude, to_latitude, to_longitude, expected, bearing] =
            [0, 1, 2, 3, 4, 5].map(|column| number(row[column]));
        let place = |latitude_deg, longitude_deg| Geodetic { latitude_deg, longitude_deg, altitude_km: 0.3 };
        let (from, to) = (place(latitude, longitude), place(to_latitude, to_longitude));
        let found = distance_km(&from, &to);
        assert!((found - expected).abs() < 2e-9, "{row:?}: {found}");
        match bearing_deg(&from, &to) {
            None => assert_eq!(expected, 0.0, "{row:?}"),
            Some(found) => {
                // Over a centimetre, a billionth of a degree of either place turns the way by much.
                let allowed = if expected < 0.1 { 1e-4 } else { 2e-9 };
                assert!((found - bearing).abs() < allowed, "{row:?}: {found}");
            }
        }
        count += 1;
    }
    assert!(count > 100);
}

/// The same by the track's own look from there, which goes by another way.
#[test]
fn a_satellite_stands_over_a_place_as_it_is_seen_from_there() {
    let (here, there) = (Station::new(54.0, -2.5, 120.0).unwrap(), Station::new(38.0, 23.7, 80.0).unwrap());
    for set in sets(DEMO) {
        let track = Track::new(&set, here).unwrap();
        for minute in 0..200 {
            let time = later(start(), f64::from(minute) * 60.0);
            let look = track.at(time).unwrap();
            let satellite = Geodetic {
                latitude_deg: look.latitude_deg,
                longitude_deg: look.longitude_deg,
                altitude_km: look.altitude_km,
            };
            let found = elevation_deg(&satellite, &there.place());
            let seen = track.seen_from(there).at(time).unwrap().elevation_deg;
            assert!((found - seen).abs() < 1e-6, "{} {time}: {found} {seen}", set.name);
        }
    }
}

fn start() -> Time {
    parse_time("2026-11-25T00:00:00Z").unwrap()
}

fn elevation(track: &Track, time: Time) -> f64 {
    track.at(time).unwrap().elevation_deg
}

#[test]
fn a_meeting_is_where_each_second_both_stations_have_the_satellite() {
    let (here, there) = (Station::new(54.0, -2.5, 120.0).unwrap(), Station::new(38.0, 23.7, 80.0).unwrap());
    let minimum = (5.0, 10.0);
    let mut met = 0;
    for set in sets(DEMO) {
        let here = Track::new(&set, here).unwrap();
        let there = here.seen_from(there);
        let found = meetings((&here, &there), start(), HOURS, minimum).0;
        let is_inside = |time: Time, meeting: &Meeting| {
            meeting.begins.is_none_or(|begins| begins <= time) && meeting.ends.is_none_or(|ends| time < ends)
        };
        for second in 0..(HOURS * 3600.0) as u32 {
            let time = later(start(), f64::from(second));
            let both = elevation(&here, time) >= minimum.0 && elevation(&there, time) >= minimum.1;
            let is_found = found.iter().any(|meeting| is_inside(time, meeting));
            assert_eq!(both, is_found, "{} {time}", set.name);
        }
        met += found.len();
    }
    assert!(met > 5, "{met}");
}

#[test]
fn a_meeting_begins_and_ends_where_one_station_is_at_its_own_minimum() {
    let (here, there) = (Station::new(54.0, -2.5, 120.0).unwrap(), Station::new(60.2, 24.9, 20.0).unwrap());
    for set in sets(DEMO) {
        let here = Track::new(&set, here).unwrap();
        let there = here.seen_from(there);
        for meeting in meetings((&here, &there), start(), HOURS, (0.0, 20.0)).0 {
            for edge in [meeting.begins, meeting.ends].into_iter().flatten() {
                // A thousandth of a degree is 10 ms at 0.1 degrees a second.
                let (ours, theirs) = (elevation(&here, edge), elevation(&there, edge) - 20.0);
                assert!(ours.abs() < 1e-3 || theirs.abs() < 1e-3, "{meeting:?}: {ours} {theirs}");
                assert!(ours > -1e-3 && theirs > -1e-3, "{meeting:?}: {ours} {theirs}");
            }
        }
    }
}

#[test]
fn what_both_have_throughout_has_neither_beginning_nor_end() {
    let here = Track::new(&sets(DEMO)[1], Station::new(54.0, -2.5, 120.0).unwrap()).unwrap();
    let there = here.seen_from(Station::new(53.0, -1.0, 0.0).unwrap());
    let middle = parse_time("2026-11-25T18:37:00Z").unwrap();
    let found = meetings((&here, &there), middle, 0.01, (0.0, 0.0)).0;
    assert_eq!(found, [Meeting { begins: None, ends: None }]);
    let ends = meetings((&here, &there), middle, 1.0, (0.0, 0.0)).0;
    assert!(ends.len() == 1 && ends[0].begins.is_none() && ends[0].ends.is_some());
}

#[test]
fn a_place_is_inside_the_footprint_as_far_as_the_radius_reaches() {
    // The ball and the ellipsoid differ by a third of a per cent.
    let (mut inside, mut outside) = (0, 0);
    for set in sets(DEMO) {
        let track = Track::new(&set, Station::new(0.0, 0.0, 0.0).unwrap()).unwrap();
        for hour in 0..24 {
            let time = later(start(), f64::from(hour) * 3600.0);
            let radius = footprint_radius_km(track.at(time).unwrap().altitude_km);
            for (latitude, longitude) in
                (-8..=8).flat_map(|lat| (-18..18).map(move |lon| (lat * 10, lon * 10)))
            {
                let place = Station::new(f64::from(latitude), f64::from(longitude), 0.0).unwrap();
                let covered = coverage(&track, time, place).unwrap();
                if (covered.distance_km / radius - 1.0).abs() > 0.01 {
                    assert_eq!(covered.is_inside(), covered.distance_km < radius, "{place:?} {covered:?}");
                    *(if covered.is_inside() { &mut inside } else { &mut outside }) += 1;
                }
            }
        }
    }
    assert!(inside > 1000 && outside > 10_000, "{inside} {outside}");
}
