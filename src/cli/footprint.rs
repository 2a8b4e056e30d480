//! `beamhand footprint`: who has a satellite above the horizon.

use std::path::Path;

use chrono::Utc;
use clap::Args;
use serde::Serialize;

use crate::config::defaults::ALTITUDE_M;
use crate::config::{ELEMENTS_LIMIT, read_text};
use crate::sky::{
    Coverage, Locator, LocatorError, Look, SkyError, Station, coverage, footprint_radius_km, locator_of,
};
use crate::terms::{Time, rfc3339};

use super::Failure;
use super::look::hidden;
use super::source::{Source, Wanted};
use super::text::{local, plain, rounded, say, utc_clock};

/// From where a satellite is above the horizon
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand footprint GANNET-1
  beamhand footprint GANNET-1 --locators KP20LG,JN58,IM58 --at \"2026-11-25 18:38\"
  beamhand footprint 99002 --locators friends.txt --json

A file of locators has them apart by blanks, commas or lines; what follows a # is a remark. The \
middle of each square counts, at sea level, without hills. Distances are from the point below the \
satellite, along the Earth; the radius takes the Earth as a ball.")]
pub(super) struct Footprint {
    /// By name or catalog number
    #[arg(value_name = "NAME|NUMBER")]
    satellite: String,
    #[command(flatten)]
    source: Source,
    /// RFC 3339, or "2026-11-25 18:30" in UTC [default: now]
    #[arg(long, value_name = "TIME", value_parser = super::text::time)]
    at: Option<Time>,
    /// Locators, with commas between them, or a file of them
    #[arg(long, value_name = "A,B,...|FILE")]
    locators: Option<String>,
    /// One JSON object
    #[arg(long)]
    json: bool,
}

/// The machine-readable line.
#[derive(Serialize)]
struct Line<'a> {
    satellite: &'a str,
    catalog_number: u32,
    time: String,
    latitude_deg: f64,
    longitude_deg: f64,
    altitude_km: f64,
    radius_km: f64,
    station: Place,
    locators: Vec<Place>,
}

#[derive(Serialize)]
struct Place {
    #[serde(skip_serializing_if = "Option::is_none")]
    locator: Option<String>,
    inside: bool,
    /// Of the station alone: nothing is known of what stands around a locator.
    #[serde(skip_serializing_if = "Option::is_none")]
    behind_horizon: Option<bool>,
    #[serde(skip)]
    hidden: Option<String>,
    elevation_deg: f64,
    distance_km: f64,
}

impl Footprint {
    pub(super) fn run(self) -> Result<(), Failure> {
        let locators = self.locators.as_deref().map(read).transpose()?.unwrap_or_default();
        let sky = self.source.open(&Wanted::only(self.satellite))?;
        let time = self.at.unwrap_or_else(Utc::now);
        sky.note_orientation(time, time);
        // Of two sets of one satellite the newer counts.
        let Some(track) = sky.tracks.iter().max_by_key(|track| track.epoch()) else {
            return Err(Failure::Failed("no usable element set was found".to_owned()));
        };
        let seen = |station: Station| coverage(track, time, station).map_err(failed);
        let at = track.at(time).map_err(failed)?;
        let here = Place {
            behind_horizon: Some(track.is_hidden(&at)),
            hidden: hidden(track, &at),
            ..place(None, seen(*track.station())?)
        };
        let mut places = Vec::new();
        for locator in locators {
            let middle = Station::new(locator.latitude_deg(), locator.longitude_deg(), ALTITUDE_M);
            let middle = middle.map_err(|error| Failure::Failed(error.to_string()))?;
            places.push(place(Some(locator.to_string()), seen(middle)?));
        }
        let line = Line {
            satellite: track.name(),
            catalog_number: track.catalog_number(),
            time: rfc3339(time),
            latitude_deg: rounded(at.latitude_deg),
            longitude_deg: rounded(at.longitude_deg),
            altitude_km: rounded(at.altitude_km),
            radius_km: rounded(footprint_radius_km(at.altitude_km)),
            station: here,
            locators: places,
        };
        if self.json {
            return say(serde_json::to_string(&line).unwrap_or_default());
        }
        show(&line, &at)
    }
}

fn failed(error: SkyError) -> Failure {
    Failure::Failed(error.to_string())
}

fn place(locator: Option<String>, coverage: Coverage) -> Place {
    Place {
        locator,
        inside: coverage.is_inside(),
        behind_horizon: None,
        hidden: None,
        elevation_deg: rounded(coverage.elevation_deg),
        distance_km: rounded(coverage.distance_km),
    }
}

fn show(line: &Line<'_>, at: &Look) -> Result<(), Failure> {
    let square = Station::new(at.latitude_deg, at.longitude_deg, 0.0).map(|below| locator_of(&below));
    let half = |degrees: f64, positive: char, negative: char| {
        format!("{:.2} {}", degrees.abs(), if degrees < 0.0 { negative } else { positive })
    };
    say(format_args!("{}, {} UTC, {} local", line.satellite, utc_clock(at.time), local(at.time)))?;
    say(format_args!(
        "above {}, {} ({}), {:.0} km high; seen from up to {:.0} km around",
        half(at.latitude_deg, 'N', 'S'),
        half(at.longitude_deg, 'E', 'W'),
        square.unwrap_or_default(),
        line.altitude_km,
        line.radius_km
    ))?;
    say("")?;
    say(format_args!("{:<12} {:<8} {:>9} {:>9}", "from", "", "elevation", "km away"))?;
    std::iter::once(&line.station).chain(&line.locators).try_for_each(|place| {
        say(format_args!(
            "{:<12} {:<8} {:>9.1} {:>9.0}",
            place.locator.as_deref().unwrap_or("your station"),
            if place.inside { "inside" } else { "outside" },
            place.elevation_deg,
            place.distance_km
        ))?;
        place.hidden.as_ref().map_or(Ok(()), |words| say(format_args!("  {words}")))
    })
}

/// Locators with commas between them, or those of a file.
fn read(text: &str) -> Result<Vec<Locator>, Failure> {
    let listed: Result<Vec<Locator>, LocatorError> = text.split(',').map(str::parse).collect();
    let refusal = match listed {
        Ok(locators) => return Ok(locators),
        Err(refusal) => refusal,
    };
    let empty = text.split(',').position(|item| item.trim().is_empty());
    if let Some(place) = empty.filter(|_| text.contains(',') && !Path::new(text).exists()) {
        return Err(Failure::Usage(format!(
            "--locators: item {} of \"{text}\" is empty: one comma stands between two locators, and none at \
             the ends",
            place + 1
        )));
    }
    let lines = read_text(Path::new(text), ELEMENTS_LIMIT).map_err(|error| {
        let error = plain(&error.to_string());
        Failure::Usage(format!("--locators: {refusal}; nor is it a file of them: \"{text}\" {error}"))
    })?;
    let mut locators = Vec::new();
    for (index, line) in lines.lines().enumerate() {
        let words = line.split('#').next().unwrap_or_default();
        for word in words.split([',', ' ', '\t']).filter(|word| !word.is_empty()) {
            let locator = word
                .parse()
                .map_err(|error: LocatorError| Failure::Failed(format!("{text}:{}: {error}", index + 1)))?;
            locators.push(locator);
        }
    }
    Ok(locators)
}
