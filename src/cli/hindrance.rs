//! What stands in the way of using a link in a pass: it is switched off, or the licence's segments do not
//! hold its uplink.

use crate::link::{Link, Trim, Tuning};
use crate::sky::Track;
use crate::terms::{Direction, Plan as _, Segments, Time, Validity, later, seconds_between};

/// So many parts a pass is divided into to see where the dial goes; on a low orbit its ends are the extremes.
const PARTS: u32 = 8;

/// How much of a pass something holds for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Share {
    All,
    Some,
    None,
}

impl Share {
    fn of(instants: impl Iterator<Item = bool>) -> Self {
        let (yes, no) = instants.fold((false, false), |(yes, no), is| (yes || is, no || !is));
        match (yes, no) {
            (true, true) => Share::Some,
            (false, true) => Share::None,
            (_, false) => Share::All,
        }
    }

    /// For programs.
    pub(super) fn name(self) -> &'static str {
        match self {
            Share::All => "throughout",
            Share::Some => "partly",
            Share::None => "off",
        }
    }
}

/// How much of a pass a link is on for. Hours change on whole minutes.
pub(super) fn on(link: &Link, pass: Validity) -> Share {
    let minutes = (seconds_between(pass.from, pass.until) / 60.0).ceil().max(0.0) as u32;
    let to_the_minute = later(pass.from, -f64::from(pass.from.timestamp().rem_euclid(60) as u32));
    let instant = |minute: u32| later(to_the_minute, f64::from(minute) * 60.0).max(pass.from);
    Share::of((0..=minutes).map(instant).filter(|time| *time <= pass.until).map(|time| link.is_on(time)))
}

/// For how much of a pass the transmitting dial stays within the segments; `None` without an uplink.
pub(super) fn allowed(track: &Track, link: &Link, pass: Validity, segments: &Segments) -> Option<Share> {
    link.uplink?;
    let tuning = Tuning::new(track.clone(), link.clone(), Trim::default(), pass, 0);
    let part_s = seconds_between(pass.from, pass.until) / f64::from(PARTS);
    let times = (0..=PARTS).map(|part| later(pass.from, f64::from(part) * part_s));
    let dial = |time: Time| Some(tuning.at(time)?.dial(Direction::Transmit)?.hertz);
    Some(Share::of(times.filter_map(dial).map(|hertz| segments.allow(hertz))))
}

/// In words, where it is not for the whole pass; a station without segments receives only, and is told so
/// elsewhere.
pub(super) fn of_uplink(allowed: Option<Share>, segments: &Segments) -> Option<&'static str> {
    match allowed.filter(|_| !segments.is_empty())? {
        Share::All => None,
        Share::Some => Some("uplink partly outside your [transmit] segments: left alone there"),
        Share::None => Some("uplink outside your [transmit] segments: the transmitter is left alone"),
    }
}

/// The same of a link's hours.
pub(super) fn of_hours(on: Share) -> Option<&'static str> {
    match on {
        Share::All => None,
        Share::Some => Some("on for a part of this pass only, says the satellites file"),
        Share::None => Some("off during this pass, says the satellites file"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{DEMO_ELEMENTS, demo_satellites};
    use crate::sky::{Station, next_pass, read_elements};
    use crate::terms::{Hertz, Segment, parse_time};

    /// GANNET-1's good pass of the demo, and its repeater, which listens on 145.927 MHz.
    fn pass() -> (Track, Link, Validity) {
        let set = read_elements(DEMO_ELEMENTS).sets.into_iter().find(|set| set.name == "GANNET-1").unwrap();
        let track = Track::new(&set, Station::new(54.0, -2.5, 120.0).unwrap()).unwrap();
        let pass = next_pass(&track, parse_time("2026-11-25T18:00:00Z").unwrap(), 1.0, 0.0).unwrap().unwrap();
        let satellites = demo_satellites().unwrap();
        let gannet = satellites.iter().find(|satellite| satellite.name == "GANNET-1").unwrap();
        let span = Validity { from: pass.aos.unwrap(), until: pass.los.unwrap() };
        (track, gannet.link("repeater").unwrap().clone(), span)
    }

    /// The uplink goes from some 3 kHz below 145.927 MHz to 3 kHz above it (design: 3.4 kHz at 500 km).
    #[test]
    fn an_uplink_is_held_by_its_segments_through_the_pass_for_a_part_or_never() {
        let (track, link, span) = pass();
        let within = |from: i64, to: i64| {
            let segments = Segments::new(vec![Segment { from: Hertz(from), to: Hertz(to) }]);
            let share = allowed(&track, &link, span, &segments);
            (share.unwrap(), of_uplink(share, &segments).is_some())
        };
        assert_eq!(within(145_800_000, 146_000_000), (Share::All, false));
        assert_eq!(within(145_800_000, 145_927_000), (Share::Some, true));
        assert_eq!(within(145_800_000, 145_900_000), (Share::None, true));
        let none = Segments::default();
        assert_eq!(of_uplink(allowed(&track, &link, span, &none), &none), None);
        assert_eq!(allowed(&track, &Link { uplink: None, ..link }, span, &none), None);
    }

    /// The pass is from 18:32 to 18:44 on a Wednesday.
    #[test]
    fn hours_hold_for_a_pass_a_part_or_not_at_all() {
        let (_, link, span) = pass();
        let hour = |hour, minute| chrono::NaiveTime::from_hms_opt(hour, minute, 0).unwrap();
        let on = |from, to| {
            let hours = crate::link::Schedule { days: chrono::WeekdaySet::ALL, from, to };
            on(&Link { on: vec![hours], ..link.clone() }, span)
        };
        assert_eq!(on(hour(18, 0), hour(19, 0)), Share::All);
        assert_eq!(on(hour(18, 43), hour(19, 0)), Share::Some);
        assert_eq!(on(hour(18, 44), hour(18, 32)), Share::None);
        assert_eq!(super::on(&link, span), Share::All);
    }
}
