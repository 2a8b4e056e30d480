//! Whether there are orbits to work by, and how old they are.

use crate::daemon::{Catalog, Planner};
use crate::link::Satellite;
use crate::session::beam_may_miss;
use crate::sky::next_pass;
use crate::terms::{Time, seconds_between};

/// Days after which the elements of a low satellite deserve a warning (common practice).
const STALE_DAYS: f64 = 7.0;
const DAY_S: f64 = 86_400.0;

/// How far ahead a pass is looked for, hours.
const AHEAD_H: f64 = 72.0;

/// What there is of one satellite, in words.
pub(super) fn of(catalog: &Catalog, satellite: &Satellite, now: Time) -> String {
    match catalog.elements(satellite) {
        Ok(set) => {
            format!("elements of {}, {}", set.epoch.format("%d %b %Y"), age(days_old(set.epoch, now)))
        }
        Err(_) => "no elements: it can't be followed".to_owned(),
    }
}

/// What deserves a second look: no elements at all comes first, since then nothing can be followed.
/// `miss` says by how many degrees the beam may miss a satellite, where it does not forgive them.
pub(super) fn doubts(catalog: &Catalog, now: Time, miss: &dyn Fn(&Satellite) -> Option<f64>) -> Vec<String> {
    let satellites = catalog.satellites();
    let sets: Vec<(&Satellite, f64)> = satellites
        .iter()
        .filter_map(|satellite| Some((satellite, days_old(catalog.elements(satellite).ok()?.epoch, now))))
        .collect();
    if sets.is_empty() && !satellites.is_empty() {
        return vec![
            "there are no elements of any of your satellites, so none can be followed: put their element \
             sets into the file that [files] elements names, or see `beamhand elements`"
                .to_owned(),
        ];
    }
    sets.into_iter().filter_map(|(satellite, days)| doubt(&satellite.name, days, miss(satellite))).collect()
}

fn doubt(name: &str, days: f64, miss: Option<f64>) -> Option<String> {
    let age = age(days);
    if days < -STALE_DAYS {
        return Some(format!("{name}: its elements are {age}: is the clock right?"));
    }
    if let Some(degrees) = miss {
        return Some(format!(
            "{name}: its elements, {age}, are too uncertain for the beam, which may miss by {degrees:.0} \
             degrees in the next pass; renew them"
        ));
    }
    (days > STALE_DAYS)
        .then(|| format!("{name}: its elements are {age}; renew them, or times, beam and dials will be off"))
}

/// Satellites whose elements no longer say where they are, as after a decay.
pub(super) fn lost(planner: &Planner, now: Time) -> Vec<String> {
    let satellites = planner.catalog.satellites().iter();
    let tracks = satellites.filter(|satellite| planner.catalog.elements(satellite).is_ok());
    tracks
        .filter_map(|satellite| match planner.track(satellite) {
            Ok(track) => track.at(now).err().map(|error| error.to_string()),
            Err(error) => Some(error),
        })
        .collect()
}

/// By how many degrees the station's beam may miss a satellite in its next pass, if it does not
/// forgive them.
pub(super) fn miss(planner: &Planner, satellite: &Satellite, now: Time) -> Option<f64> {
    let track = planner.track(satellite).ok()?;
    let pass = next_pass(&track, now, AHEAD_H, planner.minimum_elevation).ok()??;
    beam_may_miss(&track, &pass, planner.mount.as_ref()?)
}

fn days_old(epoch: Time, now: Time) -> f64 {
    seconds_between(epoch, now) / DAY_S
}

/// An age in words: days, then months, then years.
pub(in crate::cli) fn age(days: f64) -> String {
    let count = |number: f64, unit: &str| {
        let number = number.floor();
        format!("{number:.0} {unit}{}", if number == 1.0 { "" } else { "s" })
    };
    let size = days.abs();
    let length = match size {
        _ if size < 1.0 => return "less than a day old".to_owned(),
        _ if size < 60.0 => count(size, "day"),
        _ if size < 3.0 * 365.25 => count(size / 30.44, "month"),
        _ => count(size / 365.25, "year"),
    };
    if days < 0.0 { format!("{length} in the future") } else { format!("{length} old") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{DEMO_ELEMENTS, demo_satellites};
    use crate::sky::read_elements;
    use crate::terms::{later, parse_time};

    #[test]
    fn an_age_is_told_in_days_then_months_then_years() {
        let told: Vec<String> = [0.4, 1.2, 7.0, 59.0, 61.0, 610.0, 1500.0, -20.5].map(age).into();
        let wanted = ["less than a day old", "1 day old", "7 days old", "59 days old", "2 months old"];
        assert_eq!(told[..5], wanted);
        assert_eq!(told[5..], ["20 months old", "4 years old", "20 days in the future"]);
    }

    #[test]
    fn elements_older_than_a_week_or_from_the_future_deserve_a_second_look() {
        let catalog = Catalog::new(demo_satellites().unwrap(), read_elements(DEMO_ELEMENTS).sets);
        // GANNET-1's epoch is the noon of 20 November 2026; FULMAR-1's, the oldest, 18 November.
        let noon = parse_time("2026-11-20T12:00:00Z").unwrap();
        let none = |_: &Satellite| None;
        let doubts = |time: Time| doubts(&catalog, time, &none);
        assert_eq!(doubts(later(noon, 5.0 * DAY_S)), [""; 0]);
        let week = doubts(later(noon, 6.0 * DAY_S));
        assert_eq!(week.len(), 1, "{week:?}");
        assert!(week[0].starts_with("FULMAR-1: its elements are 7 days old; renew them"), "{week:?}");
        let early = doubts(later(noon, -30.0 * DAY_S));
        assert_eq!(early.len(), 5);
        assert!(early.iter().all(|doubt| doubt.contains("in the future: is the clock right?")), "{early:?}");
        assert_eq!(
            of(&catalog, &catalog.satellites()[1], noon),
            "elements of 20 Nov 2026, less than a day old"
        );
    }

    /// Whatever their age: a satellite may have a history of large misses.
    #[test]
    fn elements_that_are_too_uncertain_for_the_beam_are_named_with_the_degrees() {
        let catalog = Catalog::new(demo_satellites().unwrap(), read_elements(DEMO_ELEMENTS).sets);
        let noon = parse_time("2026-11-20T12:00:00Z").unwrap();
        let miss = |satellite: &Satellite| (satellite.name == "GANNET-1").then_some(21.6);
        let doubts = doubts(&catalog, later(noon, DAY_S), &miss);
        assert_eq!(
            doubts,
            [
                "GANNET-1: its elements, 1 day old, are too uncertain for the beam, which may miss by 22 degrees in \
              the next pass; renew them"
            ]
        );
    }

    #[test]
    fn no_elements_of_any_satellite_is_one_doubt_in_plain_words() {
        let catalog = Catalog::new(demo_satellites().unwrap(), Vec::new());
        let doubts = doubts(&catalog, Time::default(), &|_| None);
        assert_eq!(doubts.len(), 1);
        assert!(doubts[0].starts_with("there are no elements of any of your satellites"), "{doubts:?}");
    }
}
