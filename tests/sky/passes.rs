//! The search for passes: against brute force, common practice and its own promises.

use beamhand::sky::{Pass, Station, Track, footprint_radius_km, next_pass, passes};
use beamhand::terms::{Time, later, parse_time, rfc3339, seconds_between};

use crate::common::sets;

const DEMO: &str = include_str!("../../config/demo/elements.txt");
const REFERENCE: &str = include_str!("../reference/look_elements.txt");

fn time(text: &str) -> Time {
    parse_time(text).unwrap()
}

fn shack() -> Station {
    Station::new(54.0, -2.5, 100.0).unwrap()
}

fn track_of(elements: &str, number: u32, station: Station) -> Track {
    let sets = sets(elements);
    let set = sets.iter().find(|set| set.catalog_number == number).unwrap();
    Track::new(set, station).unwrap()
}

fn gannet() -> Track {
    track_of(DEMO, 99002, shack())
}

fn evening() -> Pass {
    next_pass(&gannet(), time("2026-11-25T18:00:00Z"), 2.0, 0.0).unwrap().unwrap()
}

#[test]
fn the_demo_has_a_good_evening_pass() {
    let pass = evening();
    let (aos, los) = (pass.aos.unwrap(), pass.los.unwrap());
    println!("{} {} {} {pass:?}", rfc3339(aos), rfc3339(pass.highest), rfc3339(los));
    assert!((55.0..75.0).contains(&pass.max_elevation_deg), "{pass:?}");
    assert!(aos > time("2026-11-25T18:30:00Z") && los < time("2026-11-25T18:45:00Z"), "{pass:?}");
}

#[test]
fn a_high_pass_at_500_km_lasts_eleven_to_twelve_minutes() {
    // Common practice: the middle of the pass is close to overhead, horizon to horizon.
    let found = passes(&gannet(), time("2026-11-20T12:00:00Z"), 24.0 * 14.0, 0.0).unwrap();
    let overhead: Vec<&Pass> = found.iter().filter(|pass| pass.max_elevation_deg > 60.0).collect();
    assert!(overhead.len() >= 5, "{}", overhead.len());
    for pass in overhead {
        let minutes = pass.duration_s.unwrap() / 60.0;
        assert!((11.0..12.0).contains(&minutes), "{minutes} {pass:?}");
    }
}

#[test]
fn two_stations_3500_km_apart_meet_through_a_satellite_at_610_km() {
    // Common practice: contacts over 3,000 to 4,000 km through the low FM repeaters. The second
    // station is on the same parallel; 57 degrees of longitude at 54 north are 3,600 km on the
    // great circle.
    let far = Station::new(54.0, -59.5, 0.0).unwrap();
    let (here, there) = (track_of(DEMO, 99001, shack()), track_of(DEMO, 99001, far));
    let start = time("2026-11-25T00:00:00Z");
    let both_up = (0..2 * 1440)
        .map(|minute| later(start, f64::from(minute) * 60.0))
        .filter(|&at| here.at(at).unwrap().elevation_deg > 0.0 && there.at(at).unwrap().elevation_deg > 0.0);
    assert!(both_up.count() >= 3);
    assert!(2.0 * footprint_radius_km(610.0) > 4000.0);
}

#[test]
fn aos_and_los_are_where_the_satellite_crosses_the_wanted_elevation() {
    for minimum in [0.0, 10.0] {
        let track = gannet();
        for pass in passes(&track, time("2026-11-25T00:00:00Z"), 48.0, minimum).unwrap() {
            let up = |instant, shift| track.at(later(instant, shift)).unwrap().elevation_deg >= minimum;
            let (aos, los) = (pass.aos.unwrap(), pass.los.unwrap());
            assert!(!up(aos, -0.001) && up(aos, 0.0), "{pass:?}");
            assert!(up(los, -0.001) && !up(los, 0.0), "{pass:?}");
            for (instant, azimuth) in [(aos, pass.aos_azimuth_deg), (los, pass.los_azimuth_deg)] {
                // A centimetre at 1,500 km is four ten-millionths of a degree.
                assert!((track.at(instant).unwrap().azimuth_deg - azimuth.unwrap()).abs() < 4e-7, "{pass:?}");
            }
            assert_eq!(pass.duration_s, Some(seconds_between(aos, los)));
        }
    }
}

#[test]
fn highest_and_closest_are_the_best_of_every_tenth_of_a_second() {
    // By brute force; on the eccentric orbit the two are minutes apart.
    for (elements, number, from, step) in
        [(DEMO, 99002, "2026-11-25T18:00:00Z", 0.1), (REFERENCE, 8195, "2006-06-25T09:00:00Z", 5.0)]
    {
        let track = track_of(elements, number, shack());
        let pass = next_pass(&track, time(from), 24.0, 0.0).unwrap().unwrap();
        let (aos, los) = (pass.aos.unwrap(), pass.los.unwrap());
        let steps = (seconds_between(aos, los) / step) as u32;
        let looks: Vec<_> =
            (0..=steps).map(|count| track.at(later(aos, f64::from(count) * step)).unwrap()).collect();
        let highest = looks.iter().max_by(|a, b| a.elevation_deg.total_cmp(&b.elevation_deg)).unwrap();
        let closest = looks.iter().min_by(|a, b| a.range_km.total_cmp(&b.range_km)).unwrap();
        assert!(seconds_between(highest.time, pass.highest).abs() <= step, "{pass:?}");
        assert!(seconds_between(closest.time, pass.tca).abs() <= step, "{pass:?}");
        assert!(pass.max_elevation_deg >= highest.elevation_deg);
        let apart = seconds_between(pass.highest, pass.tca).abs();
        assert_eq!(apart > 120.0, number == 8195, "{apart} s apart");
    }
}

#[test]
fn no_pass_is_missed_and_none_is_made_up() {
    // Brute force: up or down every second for a day, five satellites, three stations.
    let start = time("2026-11-24T00:00:00Z");
    for set in sets(DEMO) {
        for station in
            [shack(), Station::new(-34.9, 138.6, 50.0).unwrap(), Station::new(89.9, 0.0, 0.0).unwrap()]
        {
            let track = Track::new(&set, station).unwrap();
            let mut rises = Vec::new();
            let mut was_up = true;
            for second in 0..86_400 {
                let up = track.at(later(start, f64::from(second))).unwrap().elevation_deg >= 0.0;
                if up && !was_up {
                    rises.push(second);
                }
                was_up = up;
            }
            let found = passes(&track, start, 24.0, 0.0).unwrap();
            let aos: Vec<i32> = found
                .iter()
                .filter_map(|pass| pass.aos)
                .map(|at| seconds_between(start, at).ceil() as i32)
                .collect();
            assert_eq!(aos, rises, "{}", set.name);
        }
    }
}

#[test]
fn a_pass_in_progress_has_no_aos_in_a_list_but_its_true_one_when_asked_for() {
    let whole = evening();
    let middle = whole.highest;
    let listed = passes(&gannet(), middle, 1.0, 0.0).unwrap()[0];
    assert_eq!((listed.aos, listed.aos_azimuth_deg, listed.duration_s), (None, None, None));
    let asked = next_pass(&gannet(), middle, 1.0, 0.0).unwrap().unwrap();
    for (found, expected) in [(asked.aos, whole.aos), (asked.los, whole.los), (listed.los, whole.los)] {
        assert!(seconds_between(found.unwrap(), expected.unwrap()).abs() < 1e-3);
    }
    assert!((asked.max_elevation_deg - whole.max_elevation_deg).abs() < 1e-6);
    let cut = passes(&gannet(), later(middle, -1800.0), 0.5, 0.0).unwrap()[0];
    assert_eq!((cut.los, cut.los_azimuth_deg), (None, None));
}

#[test]
fn a_satellite_that_stands_still_is_one_endless_pass() {
    // 24208 was near 155 degrees east in that week.
    let track = track_of(REFERENCE, 24208, Station::new(0.0, 155.0, 0.0).unwrap());
    let found = passes(&track, time("2006-06-26T00:00:00Z"), 48.0, 10.0).unwrap();
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!((found[0].aos, found[0].los), (None, None));
    let asked = next_pass(&track, time("2006-06-26T00:00:00Z"), 1.0, 10.0).unwrap().unwrap();
    assert_eq!((asked.aos, asked.los), (None, None));
}

#[test]
fn where_it_never_rises_there_is_no_pass() {
    // An orbit inclined by 51.6 degrees never comes up at the pole.
    let track = track_of(DEMO, 99003, Station::new(90.0, 0.0, 0.0).unwrap());
    assert_eq!(passes(&track, time("2026-11-25T00:00:00Z"), 48.0, 0.0), Ok(vec![]));
    assert_eq!(next_pass(&track, time("2026-11-25T00:00:00Z"), 48.0, 0.0), Ok(None));
}
