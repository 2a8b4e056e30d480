//! The bounds of the card, over a year of passes.

use beamhand::card::{Card, Serves, Wishes, changes, largest_range_rate, make};
use beamhand::config::{Config, DEMO_ELEMENTS, demo_satellites};
use beamhand::link::{Link, LinkKind};
use beamhand::sky::{ElementSet, Pass, Station, Track, passes, read_elements};
use beamhand::terms::{Hertz, Time, Validity, later, parse_time, seconds_between};

const YEAR_H: f64 = 365.25 * 24.0;
/// km/s.
const LIGHT: f64 = 299_792.458;

fn station() -> Station {
    Station::new(54.0, -2.5, 120.0).unwrap()
}

fn begin() -> Time {
    parse_time("2026-11-25T00:00:00Z").unwrap()
}

fn whole(pass: &Pass) -> Option<Validity> {
    Some(Validity { from: pass.aos?, until: pass.los? })
}

/// The demo's orbits without drag, which in a year would make them others, and an eccentric one.
fn orbits() -> Vec<ElementSet> {
    let sets = read_elements(DEMO_ELEMENTS).sets;
    let mut sets: Vec<ElementSet> =
        sets.into_iter().map(|set| ElementSet { drag_term: 0.0, ..set }).collect();
    sets.push(ElementSet { eccentricity: 0.1, mean_motion_rev_day: 12.5, ..sets[0].clone() });
    sets
}

fn largest_seen(track: &Track, minimum: f64) -> (usize, f64) {
    let found = passes(track, begin(), YEAR_H, minimum).unwrap();
    let mut largest = 0.0f64;
    for span in found.iter().filter_map(whole) {
        let duration = seconds_between(span.from, span.until);
        for part in 0..=20 {
            let look = track.at(later(span.from, duration * f64::from(part) / 20.0)).unwrap();
            largest = largest.max(look.range_rate_km_s.abs());
        }
    }
    (found.len(), largest)
}

#[test]
fn no_pass_of_a_year_exceeds_the_bound_and_the_bound_is_near() {
    for set in orbits() {
        let track = Track::new(&set, station()).unwrap();
        for minimum in [0.0, 20.0] {
            let bound = largest_range_rate(&set, &station(), minimum);
            let (count, largest) = largest_seen(&track, minimum);
            assert!(count > 300, "{count}");
            assert!(largest <= bound, "{} {minimum}: {largest} over {bound}", set.name);
            // A tenth of a kilometre a second is 150 Hz at 435 MHz. An orbit that never comes overhead here is
            // never headed for the station, and an eccentric one's perigee need not pass by it.
            let slack = match (set.eccentricity < 0.01, set.inclination_deg > station().latitude_deg()) {
                (true, true) => 0.1,
                (true, false) => 0.3,
                (false, _) => 0.6,
            };
            assert!(bound - largest < slack, "{} {minimum}: {largest} far below {bound}", set.name);
        }
    }
}

/// How far both dials are off, worked afresh from the textbook's first-order Doppler.
fn off(card: &Card, link: &Link, memory: usize, rate: f64) -> (f64, f64) {
    let memory = &card.memories[memory];
    let down = link.downlink.as_f64() * (1.0 - rate / LIGHT);
    let up = link.uplink.map_or(0.0, |uplink| uplink.hertz.as_f64() / (1.0 - rate / LIGHT));
    let transmit = memory.transmit.map_or(0.0, |setting| setting.hertz.as_f64() - up);
    ((memory.receive.unwrap().hertz.as_f64() - down).abs(), transmit.abs())
}

#[test]
fn who_changes_at_the_times_of_the_card_stays_within_its_bounds_for_a_year() {
    let wishes = Wishes { step: Hertz(5_000), receive_within: Hertz(2_500), transmit_within: Hertz(5_000) };
    let demo = Config::demo().unwrap();
    let (mut links, mut seen) = (0, 0);
    for satellite in demo_satellites().unwrap() {
        let set = orbits().into_iter().find(|set| set.catalog_number == satellite.catalog_number).unwrap();
        let track = Track::new(&set, station()).unwrap();
        let largest = largest_range_rate(&set, &station(), 0.0);
        let found = passes(&track, begin(), YEAR_H, 0.0).unwrap();
        for link in satellite.links.iter().filter(|link| !matches!(link.kind, LinkKind::Linear { .. })) {
            links += 1;
            let card = make(link, &demo.transmit, &wishes, Serves::Both, largest).unwrap();
            assert_eq!(card.silent, None);
            // Every tenth pass, every eleventh second and the moments of the changes.
            for span in found.iter().step_by(10).filter_map(whole) {
                seen += 1;
                let plan = changes(&card, &track, span).unwrap();
                let moments = plan.iter().map(|change| change.time);
                let steps = (0..).map(|step| later(span.from, f64::from(step) * 11.0));
                for time in steps.take_while(|time| *time < span.until).chain(moments) {
                    let current = plan.iter().rfind(|change| change.time <= time).unwrap().memory;
                    let rate = track.at(time).unwrap().range_rate_km_s;
                    let (receive, transmit) = off(&card, link, current, rate);
                    assert!(receive <= 2_501.0, "{} {time}: {receive}", link.name);
                    assert!(transmit <= 5_001.0, "{} {time}: {transmit}", link.name);
                }
            }
        }
    }
    assert!(links == 6 && seen > 600, "{links} {seen}");
}
