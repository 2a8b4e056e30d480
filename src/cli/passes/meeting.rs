//! When another station has a satellite too.

use serde::Serialize;

use crate::cli::Failure;
use crate::cli::text::{compass, day, rounded, say, utc_clock, wall_clock};
use crate::sky::passes::Meeting;
use crate::sky::{Look, SkyError, Track};
use crate::terms::{Time, rfc3339, seconds_between};

/// A meeting, with what both stations see as it begins and ends.
pub(super) struct Meet<'a> {
    track: &'a Track,
    pub(super) meeting: Meeting,
    here: Ends<Look>,
    there: Ends<Look>,
}

/// `None` where the meeting began before the search, or ends after it.
#[derive(Serialize)]
struct Ends<T> {
    begins: Option<T>,
    ends: Option<T>,
}

impl<T> Ends<T> {
    fn map<U>(&self, with: impl Fn(&T) -> U) -> Ends<U> {
        Ends { begins: self.begins.as_ref().map(&with), ends: self.ends.as_ref().map(&with) }
    }
}

/// The machine-readable line; what does not exist is null.
#[derive(Serialize)]
struct Line<'a> {
    satellite: &'a str,
    catalog_number: u32,
    begins: Option<String>,
    ends: Option<String>,
    duration_s: Option<f64>,
    distance_km: f64,
    here: Ends<Place>,
    there: Ends<Place>,
}

#[derive(Serialize)]
struct Place {
    azimuth_deg: f64,
    elevation_deg: f64,
}

impl<'a> Meet<'a> {
    pub(super) fn new(track: &'a Track, there: &Track, meeting: Meeting) -> Result<Self, SkyError> {
        let from = |track: &Track| {
            let look = |time: Option<Time>| time.map(|time| track.at(time)).transpose();
            Ok(Ends { begins: look(meeting.begins)?, ends: look(meeting.ends)? })
        };
        Ok(Self { track, meeting, here: from(track)?, there: from(there)? })
    }

    fn duration_s(&self) -> Option<f64> {
        let Meeting { begins, ends } = self.meeting;
        begins.zip(ends).map(|(begins, ends)| seconds_between(begins, ends))
    }

    pub(super) fn json(&self, distance_km: f64) -> String {
        let place = |look: &Look| Place {
            azimuth_deg: rounded(look.azimuth_deg),
            elevation_deg: rounded(look.elevation_deg),
        };
        let line = Line {
            satellite: self.track.name(),
            catalog_number: self.track.catalog_number(),
            begins: self.meeting.begins.map(rfc3339),
            ends: self.meeting.ends.map(rfc3339),
            duration_s: self.duration_s().map(rounded),
            distance_km: rounded(distance_km),
            here: self.here.map(place),
            there: self.there.map(place),
        };
        serde_json::to_string(&line).unwrap_or_default()
    }

    fn day(&self) -> Option<String> {
        self.meeting.begins.or(self.meeting.ends).map(day)
    }

    fn row(&self) -> String {
        let Meeting { begins, ends } = self.meeting;
        let clock = |time: Option<Time>, shown: fn(Time) -> String| time.map_or("-".to_owned(), shown);
        let name: String = self.track.name().chars().take(14).collect();
        format!(
            "{name:<14} {:<8} {:<8} {:<8} {:>4} {:<16} {}",
            clock(begins, wall_clock),
            clock(ends, wall_clock),
            clock(begins, utc_clock),
            self.duration_s().map_or("-".to_owned(), |seconds| format!("{:.1}", seconds / 60.0)),
            shown(&self.here),
            shown(&self.there),
        )
    }
}

/// `SSE 12 - N 40`: direction and elevation at the beginning and at the end.
fn shown(ends: &Ends<Look>) -> String {
    let Ends { begins, ends } =
        ends.map(|look| format!("{} {:.0}", compass(look.azimuth_deg), look.elevation_deg.round() + 0.0));
    format!("{} - {}", begins.unwrap_or_default(), ends.unwrap_or_default()).trim().to_owned()
}

pub(super) fn show(
    found: &[Meet<'_>],
    distance_km: f64,
    (minimum_here, minimum_there): (f64, f64),
    hours: f64,
) -> Result<(), Failure> {
    say(format_args!("The other station is {distance_km:.0} km away."))?;
    let above = format!("above {minimum_here} degrees here and {minimum_there} there");
    if found.is_empty() {
        return say(format_args!("No satellite is {above} at once within {hours} hours."));
    }
    say(format_args!("{:14} {:<17} UTC", "", "local time"))?;
    say(format_args!(
        "{:<14} {:<8} {:<8} {:<8} {:>4} {:<16} there",
        "satellite", "from", "until", "from", "min", "here"
    ))?;
    let mut heading = String::new();
    for meet in found {
        if let Some(begins) = meet.day().filter(|begins| *begins != heading) {
            say(&begins)?;
            heading = begins;
        }
        say(meet.row())?;
    }
    say("")?;
    say(format_args!("{above}; direction and elevation at both ends"))?;
    if found.iter().any(|meet| meet.duration_s().is_none()) {
        say("-  it began before this search, or ends after it")?;
    }
    Ok(())
}
