//! `beamhand passes`: when satellites are up.

use chrono::Utc;
use clap::Args;
use serde::Serialize;

use crate::sky::{Pass, Track, passes};
use crate::terms::{Time, parse_time, rfc3339};

use super::Failure;
use super::source::Source;
use super::text::{compass, local, rounded, say, utc_clock};

/// When satellites are up, as seen from the station
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand passes --hours 12                    one's own satellites, from now
  beamhand passes --satellite GANNET-1 --min-elevation 20
  beamhand passes --elements demo.txt --station 54.0,-2.5,120 \\
      --from 2026-11-25T00:00:00Z --hours 48 --json

A pass that lasts less than 30 seconds can be missed. A pass in progress at the beginning \
has no rising time, one in progress at the end no setting time.")]
pub(super) struct Passes {
    #[command(flatten)]
    source: Source,
    /// Where the search begins, RFC 3339 [default: now]
    #[arg(long, value_name = "TIME", value_parser = time)]
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
    say(format_args!(
        "{:<15} {:<15} {:<8}  {:<9}{:<9}  {:<8}  minutes",
        "satellite", "rises, local", "UTC", "from", "highest", "sets UTC"
    ))?;
    found.iter().try_for_each(|(track, pass)| say(row(track, pass)))
}

fn row(track: &Track, pass: &Pass) -> String {
    let name: String = track.name().chars().take(15).collect();
    let towards = |azimuth: Option<f64>| azimuth.map_or("-", compass);
    let minutes = pass.duration_s.map_or("-".to_owned(), |seconds| format!("{:.1}", seconds / 60.0));
    format!(
        "{name:<15} {:<15} {:<8}  {:<9}{:<9}  {:<8}  {minutes:>7}",
        pass.aos.map_or("is up".to_owned(), local),
        pass.aos.map_or("-".to_owned(), utc_clock),
        format!("{} to {}", towards(pass.aos_azimuth_deg), towards(pass.los_azimuth_deg)),
        format!("{:>3.0} {}", pass.max_elevation_deg, compass(pass.highest_azimuth_deg)),
        pass.los.map_or("-".to_owned(), utc_clock),
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

fn time(text: &str) -> Result<Time, String> {
    parse_time(text).map_err(|error| error.to_string())
}

fn hours(text: &str) -> Result<f64, String> {
    super::text::between(text, 0.0, 87_600.0, "hours")
}

fn elevation(text: &str) -> Result<f64, String> {
    super::text::between(text, -10.0, 90.0, "degrees")
}
