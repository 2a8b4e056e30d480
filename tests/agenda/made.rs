//! Made-up passes: a mount that stands still through each, so that every sum can be done by hand.

use beamhand::agenda::{Agenda, Busy, Candidate, Path, Question, Turnaround};
use beamhand::sky::Pass;
use beamhand::terms::{AzEl, Time, Validity, later, parse_time, seconds_between};

use crate::oracle::{CHANGE_S, SLEW};

/// A Wednesday's evening.
pub(crate) fn evening() -> Time {
    parse_time("2026-11-25T18:00:00Z").unwrap()
}

/// So many minutes after the evening began.
pub(crate) fn at(minutes: f64) -> Time {
    later(evening(), minutes * 60.0)
}

pub(crate) fn span(from: f64, until: f64) -> Validity {
    Validity { from: at(from), until: at(until) }
}

/// A mount that turns 2 degrees a second.
pub(crate) fn turnaround() -> Turnaround {
    Turnaround { slew: Some(AzEl::new(SLEW, SLEW)), park: AzEl::new(0.0, 0.0), change_s: CHANGE_S }
}

/// A pass from minute to minute, all of it of use, seen at one azimuth.
pub(crate) fn pass(satellite: &str, rank: usize, from: f64, until: f64, azimuth: f64) -> Candidate {
    let whole = span(from, until);
    Candidate {
        listens: false,
        satellite: satellite.to_owned(),
        link: "repeater".to_owned(),
        rank,
        pass: sky_pass(whole),
        useful: vec![whole],
        path: Path::new(whole.from, 10.0, vec![AzEl::new(azimuth, 0.0)]),
    }
}

pub(crate) fn sky_pass(whole: Validity) -> Pass {
    let middle = later(whole.from, seconds_between(whole.from, whole.until) / 2.0);
    Pass {
        aos: Some(whole.from),
        highest: middle,
        tca: middle,
        los: Some(whole.until),
        max_elevation_deg: 30.0,
        aos_azimuth_deg: Some(180.0),
        highest_azimuth_deg: 90.0,
        los_azimuth_deg: Some(0.0),
        duration_s: Some(seconds_between(whole.from, whole.until)),
        sunlit_at_highest: true,
    }
}

pub(crate) fn agenda(candidates: &[Candidate]) -> Agenda {
    agenda_while(candidates, None)
}

pub(crate) fn agenda_while(candidates: &[Candidate], busy: Option<Busy>) -> Agenda {
    let question =
        Question { from: at(-60.0), candidates, busy, turnaround: turnaround(), lead_s: 120.0, quiet: &[] };
    Agenda::of(&question, Vec::new())
}

/// What is worked: satellite, and from which minute to which.
pub(crate) fn worked(agenda: &Agenda) -> Vec<(String, f64, f64)> {
    let minute = |time| (seconds_between(evening(), time) / 60.0 * 1e3).round() / 1e3;
    let chosen = agenda.chosen();
    chosen.map(|entry| (entry.satellite.clone(), minute(entry.span.from), minute(entry.span.until))).collect()
}
