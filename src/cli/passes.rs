//! `beamhand passes`: when satellites are up.

use chrono::Utc;
use clap::Args;
use serde::Serialize;

use crate::sky::{Pass, Track, passes};
use crate::terms::{Time, rfc3339};

use super::Failure;
use super::source::Source;
use super::text::{compass, local, rounded, say, utc_clock, wall_clock};

/// When satellites are up, as seen from the station
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand passes --hours 12                    one's own satellites, from now
  beamhand passes --satellite GANNET-1 --min-elevation 20
  beamhand passes --elements demo.txt --station 54.0,-2.5,120 \\
      --from 2026-11-25T00:00:00Z --hours 48 --json

A pass that lasts less than 30 seconds can be missed. A pass in progress at the beginning \
has no rising time, one in progress at the end no setting time: a table shows \"-\". With a \
configuration, only the satellites of its satellites file are listed; --all lists every set.")]
pub(super) struct Passes {
    #[command(flatten)]
    source: Source,
    /// Where the search begins, RFC 3339 or "2026-11-25 18:30" in UTC [default: now]
    #[arg(long, value_name = "TIME", value_parser = super::text::time)]
    from: Option<Time>,
    /// How long the search is; fractions are good
    #[arg(long, value_name = "N", default_value_t = 24.0, value_parser = hours)]
    hours: f64,
    /// Degrees above the horizon that count as up [default: the configuration's, else 0]
    #[arg(long, value_name = "DEG", value_parser = elevation, allow_hyphen_values = true)]
    min_elevation: Option<f64>,
    /// One JSON object per pass, a line each
    #[arg(long)]
    json: bool,
}

/// The machine-readable line; what does not exist is null.
#[derive(Serialize)]
struct Line<'a> {
    satellite: &'a str,
    catalog_number: u32,
    aos: Option<String>,
    highest: String,
    tca: String,
    los: Option<String>,
    max_elevation_deg: f64,
    aos_azimuth_deg: Option<f64>,
    highest_azimuth_deg: f64,
    los_azimuth_deg: Option<f64>,
    duration_s: Option<f64>,
    sunlit_at_highest: bool,
}

impl Passes {
    pub(super) fn run(self) -> Result<(), Failure> {
        let sky = self.source.open()?;
        let minimum = self.min_elevation.unwrap_or(sky.minimum_elevation);
        let from = self.from.unwrap_or_else(Utc::now);
        let mut found: Vec<(&Track, Pass)> = Vec::new();
        for track in &sky.tracks {
            match passes(track, from, self.hours, minimum) {
                Ok(passes) => found.extend(passes.into_iter().map(|pass| (track, pass))),
                Err(error) => eprintln!("beamhand: {error}"),
            }
        }
        found.sort_by_key(|(_, pass)| pass.aos.unwrap_or(from));
        if self.json {
            found.iter().try_for_each(|(track, pass)| say(json(track, pass)))
        } else {
            show_table(&found, minimum, self.hours)
        }
    }
}

fn show_table(found: &[(&Track, Pass)], minimum: f64, hours: f64) -> Result<(), Failure> {
    if found.is_empty() {
        return say(format_args!("No satellite comes above {minimum} degrees within {hours} hours."));
    }
    say(format_args!("{:14} {:<25} UTC", "", "local time"))?;
    say(format_args!(
        "{:<14} {:<16} {:<8} {:<8} {:<8} {:<7} {:<7} min",
        "satellite", "rises", "sets", "rises", "sets", "from-to", "highest"
    ))?;
    found.iter().try_for_each(|(track, pass)| say(row(track, pass)))?;
    if found.iter().any(|(_, pass)| pass.aos.is_none() || pass.los.is_none()) {
        say("-  the pass began before this search, or ends after it")?;
    }
    Ok(())
}

fn row(track: &Track, pass: &Pass) -> String {
    let name: String = track.name().chars().take(14).collect();
    let clock = |time: Option<Time>, shown: fn(Time) -> String| time.map_or("-".to_owned(), shown);
    let towards = |azimuth: Option<f64>| azimuth.map_or("-", compass);
    format!(
        "{name:<14} {:<16} {:<8} {:<8} {:<8} {:<7} {:<7} {:>4}",
        clock(pass.aos, local),
        clock(pass.los, wall_clock),
        clock(pass.aos, utc_clock),
        clock(pass.los, utc_clock),
        format!("{}-{}", towards(pass.aos_azimuth_deg), towards(pass.los_azimuth_deg)),
        format!("{:>3.0} {}", pass.max_elevation_deg, compass(pass.highest_azimuth_deg)),
        pass.duration_s.map_or("-".to_owned(), |seconds| format!("{:.1}", seconds / 60.0)),
    )
}

fn json(track: &Track, pass: &Pass) -> String {
    let line = Line {
        satellite: track.name(),
        catalog_number: track.catalog_number(),
        aos: pass.aos.map(rfc3339),
        highest: rfc3339(pass.highest),
        tca: rfc3339(pass.tca),
        los: pass.los.map(rfc3339),
        max_elevation_deg: rounded(pass.max_elevation_deg),
        aos_azimuth_deg: pass.aos_azimuth_deg.map(rounded),
        highest_azimuth_deg: rounded(pass.highest_azimuth_deg),
        los_azimuth_deg: pass.los_azimuth_deg.map(rounded),
        duration_s: pass.duration_s.map(rounded),
        sunlit_at_highest: pass.sunlit_at_highest,
    };
    serde_json::to_string(&line).unwrap_or_default()
}

fn hours(text: &str) -> Result<f64, String> {
    super::text::between(text, 0.0, 87_600.0, "hours")
}

fn elevation(text: &str) -> Result<f64, String> {
    super::text::between(text, -10.0, 90.0, "degrees")
}
