//! `beamhand look`: where satellites are at given times.

use std::io::BufRead;

use chrono::Utc;
use clap::Args;
use serde::Serialize;

use crate::sky::{Look as At, Track};
use crate::terms::{Time, rfc3339};

use super::Failure;
use super::source::Source;
use super::text::{compass, local, rounded, say, time, utc_clock};

/// Where satellites are, as seen from the station
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand look --elements demo.txt --station 54.0,-2.5,120 \\
      --at 2026-11-25T18:30:00Z
  beamhand look --satellite GANNET-1            now, with one's own elements
  beamhand look --station IO84RA --at \"2026-11-25 18:30\"
  beamhand look --at - --json < times.txt       one time a line, in that order

Azimuth counts from true north, clockwise; the speed is positive while the range grows. With a \
configuration, only the satellites of its satellites file are shown; --all shows every set.")]
pub(super) struct Look {
    #[command(flatten)]
    source: Source,
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
}

impl Look {
    pub(super) fn run(self) -> Result<(), Failure> {
        let sky = self.source.open()?;
        match self.at.as_deref() {
            Some("-") => {
                self.heading()?;
                for (index, line) in std::io::stdin().lock().lines().enumerate() {
                    let line = line?;
                    if line.trim().is_empty() {
                        continue;
                    }
                    let at = time(&line).map_err(|error| {
                        Failure::Failed(format!("standard input, line {}: {error}", index + 1))
                    })?;
                    self.show(&sky.tracks, at)?;
                }
                Ok(())
            }
            Some(text) => {
                let at = time(text).map_err(|error| Failure::Usage(format!("--at: {error}")))?;
                self.heading()?;
                self.show(&sky.tracks, at)
            }
            None => {
                self.heading()?;
                self.show(&sky.tracks, Utc::now())
            }
        }
    }

    fn heading(&self) -> Result<(), Failure> {
        if self.json {
            return Ok(());
        }
        say(format_args!(
            "{:<15} {:<3}{:>7}{:>7}  {:<4}{:>9}{:>13}{:>8}  lit",
            "satellite", "", "az", "el", "", "range km", "speed km/s", "alt km"
        ))
    }

    fn show(&self, tracks: &[Track], time: Time) -> Result<(), Failure> {
        let mut seen: Vec<(&Track, Option<At>)> = Vec::new();
        for track in tracks {
            let at = track.at(time);
            if let Err(error) = &at {
                eprintln!("beamhand: {error}");
            }
            seen.push((track, at.ok()));
        }
        if self.json {
            seen.iter().try_for_each(|(track, at)| say(json(track, time, at.as_ref())))?;
        } else {
            table(&seen, time)?;
        }
        if seen.iter().all(|(_, at)| at.is_none()) {
            return Err(Failure::Failed(format!("no satellite could be propagated to {}", rfc3339(time))));
        }
        Ok(())
    }
}

/// Those that are up come first.
fn table(seen: &[(&Track, Option<At>)], time: Time) -> Result<(), Failure> {
    say(format_args!("{} UTC, {} local", utc_clock(time), local(time)))?;
    let mut rows: Vec<(&Track, &At)> =
        seen.iter().filter_map(|(track, at)| Some((*track, at.as_ref()?))).collect();
    rows.sort_by_key(|(_, at)| !is_up(at));
    rows.iter().try_for_each(|(track, at)| say(row(track, at)))
}

fn is_up(at: &At) -> bool {
    at.elevation_deg > 0.0
}

fn json(track: &Track, time: Time, at: Option<&At>) -> String {
    let number = |pick: fn(&At) -> f64| at.map(|at| rounded(pick(at)));
    let line = Line {
        satellite: track.name(),
        catalog_number: track.catalog_number(),
        time: rfc3339(time),
        azimuth_deg: number(|at| at.azimuth_deg),
        elevation_deg: number(|at| at.elevation_deg),
        range_km: number(|at| at.range_km),
        range_rate_km_s: number(|at| at.range_rate_km_s),
        sunlit: at.map(|at| at.sunlit),
        latitude_deg: number(|at| at.latitude_deg),
        longitude_deg: number(|at| at.longitude_deg),
        altitude_km: number(|at| at.altitude_km),
    };
    serde_json::to_string(&line).unwrap_or_default()
}

fn row(track: &Track, at: &At) -> String {
    let name: String = track.name().chars().take(15).collect();
    format!(
        "{name:<15} {:<3}{:>7.1}{:>7.1}  {:<4}{:>9.0}{:>13.3}{:>8.0}  {}",
        if is_up(at) { "up" } else { "" },
        at.azimuth_deg,
        at.elevation_deg,
        compass(at.azimuth_deg),
        at.range_km,
        at.range_rate_km_s,
        at.altitude_km,
        if at.sunlit { "yes" } else { "no" }
    )
}
