//! Passes for people.

use crate::cli::Failure;
use crate::cli::off::tenths;
use crate::cli::text::{compass, day, height, say, utc_clock, wall_clock, wrap};
use crate::sky::{Eclipse, Grades};
use crate::terms::{Time, seconds_between};

use super::Found;

/// The closest point is told where it is so far from the highest, seconds.
const APART_S: f64 = 10.0;

/// `minimum`: what counts as up, degrees.
pub(super) fn show(found: &[Found<'_>], grades: &Grades, minimum: f64) -> Result<(), Failure> {
    say(format_args!("{:14} {:<26} UTC", "", "local time"))?;
    say(format_args!(
        "{:<14} {:<8} {:<8} {:<8} {:<8} {:<7} {:<6} {:>4}",
        "satellite", "rises", "highest", "sets", "rises", "from-to", "height", "min"
    ))?;
    let mut heading = String::new();
    for one in found {
        let begins = day(one.pass.aos.unwrap_or(one.pass.highest));
        if heading != begins {
            say(&begins)?;
            heading = begins;
        }
        say(row(one))?;
        let words = words(one);
        if !words.is_empty() {
            wrap(&format!("  {}", words.join("; "))).iter().try_for_each(say)?;
        }
        one.dials.iter().flatten().flat_map(|dials| dials.lines()).try_for_each(say)?;
    }
    legend(found, grades, minimum)
}

fn legend(found: &[Found<'_>], grades: &Grades, minimum: f64) -> Result<(), Failure> {
    say("")?;
    let beside = if found.iter().any(|one| one.track.has_horizon()) { ", and your own horizon" } else { "" };
    say(format_args!("up: above {minimum} degrees{beside}"))?;
    let Grades { fair_deg, high_deg, overhead_deg } = grades;
    say(format_args!(
        "height in degrees: fair from {fair_deg}, high from {high_deg}, overhead from {overhead_deg}; else low"
    ))?;
    say(format_args!("closest to you at the highest point, within {APART_S} s, unless it says otherwise"))?;
    if found.iter().any(|one| one.pass.aos.is_none()) {
        say("-  where it rises: it was up already when this search began")?;
    }
    if found.iter().any(|one| one.pass.los.is_none()) {
        say("-  where it sets: it is still up when this search ends")?;
    }
    doubt(found).map_or(Ok(()), say)
}

/// The pass of which least is known, for its direction.
fn doubt(found: &[Found<'_>]) -> Option<String> {
    let known = found.iter().filter_map(|one| Some((one.track.name(), one.off?)));
    let (name, off) = known.max_by(|a, b| a.1.pointing_deg.total_cmp(&b.1.pointing_deg))?;
    let (pointing, timing) = (tenths(off.pointing_deg), tenths(off.timing_s));
    let name: String = name.chars().take(14).collect();
    Some(format!("may be off by up to {pointing} degrees and {timing} s ({name}); `look` tells more"))
}

fn row(found: &Found<'_>) -> String {
    let Found { track, pass, grade, .. } = found;
    let name: String = track.name().chars().take(14).collect();
    let clock = |time: Option<Time>, shown: fn(Time) -> String| time.map_or("-".to_owned(), shown);
    let towards = |azimuth: Option<f64>| azimuth.map_or("-", compass);
    format!(
        "{name:<14} {:<8} {:<8} {:<8} {:<8} {:<7} {:<6} {:>4} {}",
        clock(pass.aos, wall_clock),
        wall_clock(pass.highest),
        clock(pass.los, wall_clock),
        clock(pass.aos, utc_clock),
        format!("{}-{}", towards(pass.aos_azimuth_deg), towards(pass.los_azimuth_deg)),
        format!("{:>2.0} {}", height(pass.max_elevation_deg), compass(pass.highest_azimuth_deg)),
        pass.duration_s.map_or("-".to_owned(), |seconds| format!("{:.1}", seconds / 60.0)),
        grade.name(),
    )
}

/// What else is to be said of a pass: where the closest point is elsewhere, and what the Sun does.
pub(super) fn words(found: &Found<'_>) -> Vec<String> {
    let pass = &found.pass;
    let is_apart = seconds_between(pass.highest, pass.tca).abs() >= APART_S;
    let closest = is_apart.then(|| format!("closest at {} UTC", utc_clock(pass.tca)));
    let shadow = found.shadow.iter().filter(|stay| stay.is_total).map(in_shadow);
    let dark = found.is_dark.then(|| "dark at the station".to_owned());
    closest.into_iter().chain(shadow).chain(dark).collect()
}

fn in_shadow(stay: &Eclipse) -> String {
    match (stay.enters, stay.leaves) {
        (Some(enters), Some(leaves)) => {
            format!("in shadow {} to {} UTC", utc_clock(enters), utc_clock(leaves))
        }
        (Some(enters), None) => format!("in shadow from {} UTC", utc_clock(enters)),
        (None, Some(leaves)) => format!("in shadow until {} UTC", utc_clock(leaves)),
        (None, None) => "in shadow throughout".to_owned(),
    }
}
