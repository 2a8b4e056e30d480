//! `beamhand passes`: when satellites are up.

mod calendar;
mod dials;
mod json;
mod meeting;
mod table;

use std::io::IsTerminal as _;

use chrono::Utc;
use clap::Args;

use crate::sky::passes::{meetings, passes_until_lost};
use crate::sky::{
    Eclipse, Grade, Grades, Pass, SkyError, Station, Track, Uncertainty, distance_km, eclipses, is_dark,
};
use crate::terms::{Time, later};

use dials::{LinkDials, dials};
use meeting::Meet;

use super::Failure;
use super::off::clock_error_s;
use super::source::{Sky, Source, Wanted};
use super::spread::spread;
use super::text::{remark, say, show};

/// When satellites are up, as seen from the station
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand passes --hours 12                    one's own satellites, from now
  beamhand passes --satellite GANNET-1 --min-elevation 20
  beamhand passes --satellite GANNET-1 --frequencies
  beamhand passes --hours 168 --min-elevation 30 --calendar > passes.ics
  beamhand passes --with KP20LG --with-min-elevation 5
  beamhand passes --elements demo.txt --station 54.0,-2.5,120 \\
      --from 2026-11-25T00:00:00Z --hours 48 --json

No pass is too short to be found. A pass in progress at the beginning has no rising time, one in \
progress at the end no setting time: a table shows \"-\". With a configuration, only the satellites \
of its satellites file are listed; --all lists every set.")]
pub(super) struct Passes {
    #[command(flatten)]
    source: Source,
    #[command(flatten)]
    wanted: Wanted,
    /// Where the search begins, RFC 3339 or "2026-11-25 18:30" in UTC [default: now]
    #[arg(long, value_name = "TIME", value_parser = super::text::time)]
    from: Option<Time>,
    /// How long the search is; fractions are good
    #[arg(long, value_name = "N", default_value_t = 24.0, value_parser = hours)]
    #[arg(allow_negative_numbers = true)]
    hours: f64,
    /// Degrees above the horizon that count as up [default: the configuration's, else 0]
    #[arg(long, value_name = "DEG", value_parser = elevation, allow_hyphen_values = true)]
    min_elevation: Option<f64>,
    /// With what both dials show for each link of the configuration, as the satellite rises, is
    /// closest and sets; without your trim
    #[arg(long)]
    frequencies: bool,
    /// Times in which another station has the satellite too, and how far away it is
    #[arg(long, value_name = "LOCATOR|LAT,LON[,ALT_M]", value_parser = super::source::station)]
    #[arg(allow_hyphen_values = true, conflicts_with = "frequencies")]
    with: Option<Station>,
    /// Degrees above the horizon that count as up for the other station
    #[arg(long, value_name = "DEG", value_parser = elevation, allow_hyphen_values = true)]
    #[arg(default_value_t = 0.0, requires = "with")]
    with_min_elevation: f64,
    /// An iCalendar file with an event for each whole pass
    #[arg(long, conflicts_with_all = ["json", "with"])]
    calendar: bool,
    /// One JSON object per pass, a line each
    #[arg(long)]
    json: bool,
}

/// One pass, what it is worth, what the Sun does meanwhile, and what the dials show if that was
/// asked for.
struct Found<'a> {
    track: &'a Track,
    pass: Pass,
    grade: Grade,
    shadow: Vec<Eclipse>,
    is_dark: bool,
    /// How far it may be off where it is highest; only worked out for people.
    off: Option<Uncertainty>,
    dials: Option<Vec<LinkDials>>,
}

/// From so many satellites on the search says how far it is.
const MANY: usize = 200;

impl Passes {
    pub(super) fn run(self) -> Result<(), Failure> {
        let sky = self.source.open(&self.wanted)?;
        if let Some(other) = self.with {
            return self.meetings(&sky, other);
        }
        let links = self.frequencies.then(|| self.source.links()).transpose()?;
        let minimum = self.minimum(&sky);
        let window = self.window(&sky);
        let clock_error_s = self.clock_error_s(&sky);
        let grades = sky.grades;
        let mut found = for_each(&sky, |track| self.search(track, window, minimum, &grades, clock_error_s))?;
        for one in &mut found {
            one.dials = links
                .as_ref()
                .map(|(satellites, segments)| dials(one.track, &one.pass, window, satellites, segments));
        }
        found.sort_by_key(|found: &Found<'_>| found.pass.aos.unwrap_or(window.0));
        if self.json {
            return found.iter().try_for_each(|found| say(json::line(found)));
        }
        if self.calendar {
            return show_calendar(&found);
        }
        if found.is_empty() {
            let hours = self.hours;
            return say(format_args!("No satellite comes above {minimum} degrees within {hours} hours."));
        }
        table::show(&found, &sky.grades, minimum)?;
        if links.is_some_and(|(_, segments)| segments.is_empty()) {
            say("transmit: to know only; without [transmit] segments nothing is tuned there")?;
        }
        Ok(())
    }

    /// Where the search begins now, "now" is by the computer's clock.
    fn clock_error_s(&self, sky: &Sky) -> f64 {
        let is_by_clock = self.from.is_none();
        let so = "no pass is started, and these times may be off";
        if is_by_clock { clock_error_s(sky.clock.clone(), so) } else { 0.0 }
    }

    fn minimum(&self, sky: &Sky) -> f64 {
        self.min_elevation.unwrap_or(sky.minimum_elevation)
    }

    fn window(&self, sky: &Sky) -> (Time, Time) {
        let from = self.from.unwrap_or_else(Utc::now);
        let until = later(from, self.hours * 3600.0);
        sky.note_orientation(from, until);
        (from, until)
    }

    /// When another station has the satellites too.
    fn meetings(&self, sky: &Sky, other: Station) -> Result<(), Failure> {
        let minimum = (self.minimum(sky), self.with_min_elevation);
        let (from, _) = self.window(sky);
        self.clock_error_s(sky);
        let mut found = for_each(sky, |track| {
            let there = track.seen_from(other);
            let (both, lost) = meetings((track, &there), from, self.hours, minimum);
            let meets = both.into_iter().map(|meeting| Meet::new(track, &there, meeting));
            all_or_why(meets.collect(), lost)
        })?;
        found.sort_by_key(|meet: &Meet<'_>| meet.meeting.begins);
        let distance_km =
            sky.tracks.first().map_or(0.0, |track| distance_km(&track.station().place(), &other.place()));
        if self.json {
            return found.iter().try_for_each(|meet| say(meet.json(distance_km)));
        }
        meeting::show(&found, distance_km, minimum, self.hours)
    }

    fn search<'a>(
        &self,
        track: &'a Track,
        (from, until): (Time, Time),
        minimum: f64,
        grades: &Grades,
        clock_error_s: f64,
    ) -> Answer<Found<'a>> {
        let is_for_people = !self.json && !self.calendar;
        let describe = |pass: &Pass| {
            let (begins, ends) = (pass.aos.unwrap_or(from), pass.los.unwrap_or(until));
            let shadow = eclipses(track, begins, ends)?;
            let grade = grades.of(pass.max_elevation_deg);
            Ok(Found {
                track,
                grade,
                shadow,
                is_dark: is_dark(track, pass.highest),
                off: is_for_people.then(|| track.uncertainty(pass.highest, clock_error_s).ok()).flatten(),
                dials: None,
                pass: *pass,
            })
        };
        let (passes, lost) = passes_until_lost(track, from, self.hours, minimum);
        all_or_why(passes.iter().map(describe).collect(), lost)
    }
}

/// What was found for a satellite, and why it could not be followed further.
type Answer<R> = (Vec<R>, Option<SkyError>);

/// What was described, unless that failed.
fn all_or_why<R>(described: Result<Vec<R>, SkyError>, lost: Option<SkyError>) -> Answer<R> {
    match described {
        Ok(found) => (found, lost),
        Err(error) => (Vec::new(), Some(error)),
    }
}

/// What is found for each satellite, on all cores. One that can't be propagated is named, and what was
/// found before that is kept.
fn for_each<'s, R: Send>(
    sky: &'s Sky,
    work: impl Fn(&'s Track) -> Answer<R> + Sync,
) -> Result<Vec<R>, Failure> {
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let all = sky.tracks.len();
    let (mut found, mut lost) = (Vec::new(), 0);
    for (some, error) in spread(&sky.tracks, threads, work, |done| tell(done, all)) {
        found.extend(some);
        if let Some(error) = error {
            lost += 1;
            remark(error);
        }
    }
    if found.is_empty() && lost == all {
        return Err(Failure::Failed("no satellite could be followed through the search".to_owned()));
    }
    Ok(found)
}

/// A calendar without an event is none (RFC 5545, section 3.6).
fn show_calendar(found: &[Found<'_>]) -> Result<(), Failure> {
    let whole = found.iter().filter(|one| one.pass.aos.and(one.pass.los).is_some()).count();
    if whole < found.len() {
        let count = found.len() - whole;
        remark(format_args!("{count} left out: begun before the search, or not over at its end"));
    }
    if whole == 0 {
        return Err(Failure::Failed("no whole pass was found for the calendar".to_owned()));
    }
    show(calendar::calendar(found, Utc::now()))
}

/// How far a long search is, for who watches a screen.
fn tell(done: usize, all: usize) {
    let tenth = all / 10;
    if all >= MANY && done.is_multiple_of(tenth) && std::io::stderr().is_terminal() {
        remark(format_args!("{done} of {all} satellites searched"));
    }
}

fn hours(text: &str) -> Result<f64, String> {
    super::text::between(text, 0.0, 87_600.0, "hours")
}

fn elevation(text: &str) -> Result<f64, String> {
    super::text::between(text, -10.0, 90.0, "degrees")
}
