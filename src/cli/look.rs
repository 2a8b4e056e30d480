//! `beamhand look`: where satellites are at given times.

use std::io::BufRead;

use chrono::Utc;
use clap::Args;
use serde::Serialize;

use crate::link::shift;
use crate::sky::{Look as At, Track, Uncertainty};
use crate::terms::{Time, rfc3339, seconds_between};

use super::Failure;
use super::check::age;
use super::off::{clock_error_s, may_be_off, tenths};
use super::source::{Source, Wanted};
use super::text::{compass, local, remark, rounded, say, time, utc_clock};

/// Where satellites are, as seen from the station
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand look --elements demo.txt --station 54.0,-2.5,120 \\
      --at 2026-11-25T18:30:00Z
  beamhand look --satellite GANNET-1            now, with one's own elements
  beamhand look --station IO84RA --at \"2026-11-25 18:30\"
  beamhand look --at - --json < times.txt       one time a line, in that order

Azimuth counts from true north, clockwise; the speed is positive while the range grows. The \
direction may be off by the degrees after ±, two times out of three by less. With a \
configuration, only the satellites of its satellites file are shown; --all shows every set.")]
pub(super) struct Look {
    #[command(flatten)]
    source: Source,
    #[command(flatten)]
    wanted: Wanted,
    /// RFC 3339, "2026-11-25 18:30" in UTC, or - for one time a line on standard input [default: now]
    #[arg(long, value_name = "TIME|-", allow_hyphen_values = true)]
    at: Option<String>,
    /// One JSON object per satellite, a line each
    #[arg(long)]
    json: bool,
}

/// The machine-readable line; what does not exist is null.
#[derive(Serialize)]
struct Line<'a> {
    satellite: &'a str,
    catalog_number: u32,
    time: String,
    azimuth_deg: Option<f64>,
    elevation_deg: Option<f64>,
    range_km: Option<f64>,
    range_rate_km_s: Option<f64>,
    sunlit: Option<bool>,
    latitude_deg: Option<f64>,
    longitude_deg: Option<f64>,
    altitude_km: Option<f64>,
    behind_horizon: Option<bool>,
    pointing_error_deg: Option<f64>,
    timing_error_s: Option<f64>,
    range_rate_error_km_s: Option<f64>,
}

/// A satellite, where it is and how far that may be off.
type Seen<'a> = (&'a Track, Option<(At, Uncertainty)>);

impl Look {
    pub(super) fn run(self) -> Result<(), Failure> {
        let sky = self.source.open(&self.wanted)?;
        match self.at.as_deref() {
            Some("-") => {
                // As bytes: a line that is no text is named with its number like any other.
                let mut is_first = true;
                for (index, line) in std::io::stdin().lock().split(b'\n').enumerate() {
                    let line = line?;
                    let line = String::from_utf8_lossy(line.trim_ascii());
                    if line.is_empty() {
                        continue;
                    }
                    let at = time(&line).map_err(|error| {
                        Failure::Failed(format!("standard input, line {}: {error}", index + 1))
                    })?;
                    sky.note_orientation(at, at);
                    self.show(&sky.tracks, at, 0.0, std::mem::take(&mut is_first))?;
                }
                Ok(())
            }
            Some(text) => {
                let at = time(text).map_err(|error| Failure::Usage(format!("--at: {error}")))?;
                sky.note_orientation(at, at);
                self.show(&sky.tracks, at, 0.0, true)
            }
            None => {
                let now = Utc::now();
                sky.note_orientation(now, now);
                let clock_error_s = clock_error_s(sky.clock.clone(), "the errors shown are without its part");
                self.show(&sky.tracks, now, clock_error_s, true)
            }
        }
    }

    /// Remarks come before the table's heading, which stands above the first time.
    fn show(
        &self,
        tracks: &[Track],
        time: Time,
        clock_error_s: f64,
        with_heading: bool,
    ) -> Result<(), Failure> {
        let mut seen: Vec<Seen<'_>> = Vec::new();
        for track in tracks {
            let at = track.at(time).and_then(|at| Ok((at, track.uncertainty(time, clock_error_s)?)));
            if let Err(error) = &at {
                remark(error);
            }
            seen.push((track, at.ok()));
        }
        if self.json {
            seen.iter().try_for_each(|seen| say(json(seen, time)))?;
        } else {
            if with_heading {
                heading()?;
            }
            table(&seen, time)?;
        }
        if seen.iter().all(|(_, at)| at.is_none()) {
            return Err(Failure::Failed(format!("no satellite could be propagated to {}", rfc3339(time))));
        }
        Ok(())
    }
}

fn heading() -> Result<(), Failure> {
    say(format_args!(
        "{:<15} {:<3}{:>7}{:>7}{:>6}  {:<4}{:>9}{:>12}{:>8}  lit",
        "satellite", "", "az", "el", "±", "", "range km", "speed km/s", "alt km"
    ))
}

/// Those that are up come first. One alone is told more of.
fn table(seen: &[Seen<'_>], time: Time) -> Result<(), Failure> {
    say(format_args!("{} UTC, {} local", utc_clock(time), local(time)))?;
    let mut rows: Vec<(&Track, &At, &Uncertainty)> =
        seen.iter().filter_map(|(track, at)| at.as_ref().map(|(at, off)| (*track, at, off))).collect();
    rows.sort_by_key(|(track, at, _)| !is_up(track, at));
    for (track, at, off) in &rows {
        say(row(track, at, off))?;
        if let Some(words) = hidden(track, at) {
            say(format_args!("  {words}"))?;
        }
    }
    if let [(track, _, off)] = rows[..] { say(doubt(track, off, time)) } else { Ok(()) }
}

fn doubt(track: &Track, off: &Uncertainty, time: Time) -> String {
    let hertz = shift(435e6, off.range_rate_km_s).abs();
    let told = may_be_off(off.pointing_deg, off.timing_s, hertz, "435 MHz");
    format!("{told}; elements {}", age(seconds_between(track.epoch(), time) / 86_400.0))
}

fn is_up(track: &Track, at: &At) -> bool {
    at.elevation_deg > 0.0 && !track.is_hidden(at)
}

/// In words, where the satellite is above the horizon but not above the station's own.
pub(super) fn hidden(track: &Track, at: &At) -> Option<String> {
    let height = track.horizon_deg(at.azimuth_deg).filter(|_| track.is_hidden(at))?;
    Some(format!("behind your horizon, {height:.1} degrees high there"))
}

fn json((track, at): &Seen<'_>, time: Time) -> String {
    let number = |pick: fn(&At) -> f64| at.as_ref().map(|(at, _)| rounded(pick(at)));
    let error = |pick: fn(&Uncertainty) -> f64| at.as_ref().map(|(_, off)| rounded(pick(off)));
    let line = Line {
        satellite: track.name(),
        catalog_number: track.catalog_number(),
        time: rfc3339(time),
        azimuth_deg: number(|at| at.azimuth_deg),
        elevation_deg: number(|at| at.elevation_deg),
        range_km: number(|at| at.range_km),
        range_rate_km_s: number(|at| at.range_rate_km_s),
        sunlit: at.as_ref().map(|(at, _)| at.sunlit),
        latitude_deg: number(|at| at.latitude_deg),
        longitude_deg: number(|at| at.longitude_deg),
        altitude_km: number(|at| at.altitude_km),
        behind_horizon: at.as_ref().map(|(at, _)| track.is_hidden(at)),
        pointing_error_deg: error(|off| off.pointing_deg),
        timing_error_s: error(|off| off.timing_s),
        range_rate_error_km_s: error(|off| off.range_rate_km_s),
    };
    serde_json::to_string(&line).unwrap_or_default()
}

fn row(track: &Track, at: &At, off: &Uncertainty) -> String {
    let name: String = track.name().chars().take(15).collect();
    format!(
        "{name:<15} {:<3}{:>7.1}{:>7.1}{:>6}  {:<4}{:>9.0}{:>12.3}{:>8.0}  {}",
        if is_up(track, at) { "up" } else { "" },
        at.azimuth_deg,
        at.elevation_deg,
        tenths(off.pointing_deg),
        compass(at.azimuth_deg),
        at.range_km,
        at.range_rate_km_s,
        at.altitude_km,
        if at.sunlit { "yes" } else { "no" }
    )
}
