//! `beamhand aim`: how the beam will be led through a pass.

mod picture;

use std::path::PathBuf;

use chrono::Utc;
use clap::Args;
use serde::Serialize;

use crate::beam::{Aim as Plan, Mount, Prospect};
use crate::daemon::mount;
use crate::session::beam_may_miss;
use crate::sky::{Pass, Track, next_pass};
use crate::store::write_shared;
use crate::terms::{Time, Validity, later, rfc3339};

use super::Failure;
use super::source::{Source, Wanted};
use super::text::{both_clocks, compass, duration, remark, rounded, say, wrap};
use picture::Picture;

/// A pass is looked for so far ahead, hours.
const LOOK_AHEAD_H: f64 = 72.0;

/// How the beam will be led through the next pass
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand aim GANNET-1
  beamhand aim GANNET-1 --at \"2026-11-25 18:30\" --svg gannet.svg
  beamhand aim 99002 --json

The whole path is planned before the pass, from the mount's limits, speeds and forbidden sectors in \
the configuration. The picture shows the sky from above, the zenith in its middle. Nothing moves.")]
pub(super) struct Aim {
    /// By name or catalog number
    #[arg(value_name = "NAME|NUMBER")]
    satellite: String,
    #[command(flatten)]
    source: Source,
    /// The pass then, or the next one: RFC 3339, or "2026-11-25 18:30" in UTC [default: now]
    #[arg(long, value_name = "TIME", value_parser = super::text::time)]
    at: Option<Time>,
    /// Draw the satellite's path and the beam's into a file
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
    /// One JSON object
    #[arg(long)]
    json: bool,
}

/// The machine-readable line.
#[derive(Serialize)]
struct Line<'a> {
    satellite: &'a str,
    catalog_number: u32,
    aos: String,
    highest: String,
    los: String,
    max_elevation_deg: f64,
    begins_azimuth_deg: f64,
    begins_elevation_deg: f64,
    ends_azimuth_deg: f64,
    ends_elevation_deg: f64,
    flips: bool,
    worst_error_deg: f64,
    worst_at: String,
    mean_error_deg: f64,
    beam_width_deg: f64,
    worst_loss_db: f64,
    beyond_3_db_s: f64,
    /// In quiet motion.
    azimuth_starts: Option<usize>,
    elevation_starts: Option<usize>,
}

/// A pass with its plan.
struct Planned<'a> {
    track: &'a Track,
    mount: Mount,
    pass: Pass,
    span: Validity,
    plan: Plan,
    prospect: Prospect,
}

impl Aim {
    pub(super) fn run(self) -> Result<(), Failure> {
        let config = self.source.config()?;
        let rotator = config.rotator.as_ref().ok_or_else(|| {
            Failure::Failed("the configuration has no [rotator], so there is no beam to aim".to_owned())
        })?;
        let sky = self.source.open(&Wanted::only(self.satellite))?;
        let from = self.at.unwrap_or_else(Utc::now);
        // Of two sets of one satellite the newer counts.
        let Some(track) = sky.tracks.iter().max_by_key(|track| track.epoch()) else {
            return Err(Failure::Failed("no usable element set was found".to_owned()));
        };
        sky.note_orientation(from, later(from, LOOK_AHEAD_H * 3600.0));
        let planned = planned(track, mount(rotator), from, sky.minimum_elevation)?;
        if let Some(degrees) = beam_may_miss(track, &planned.pass, &planned.mount) {
            remark(format_args!(
                "the elements are too uncertain for the beam, which may miss by {degrees:.0} degrees: renew them"
            ));
        }
        if let Some(file) = &self.svg {
            let horizon = config.station.horizon.as_deref();
            let drawn = Picture { planned: &planned, horizon }.draw();
            write_shared(file, drawn.as_bytes())
                .map_err(|error| Failure::Failed(format!("{}: {error}", file.display())))?;
        }
        if self.json {
            say(serde_json::to_string(&line(&planned)).unwrap_or_default())
        } else {
            show(&planned)
        }
    }
}

fn planned(track: &Track, mount: Mount, from: Time, minimum: f64) -> Result<Planned<'_>, Failure> {
    let name = track.name();
    let pass = next_pass(track, from, LOOK_AHEAD_H, minimum)
        .map_err(|error| Failure::Failed(error.to_string()))?
        .ok_or_else(|| {
            Failure::Failed(format!(
                "{name} does not come above {minimum} degrees within {LOOK_AHEAD_H} hours"
            ))
        })?;
    let until = pass.los.unwrap_or_else(|| later(from, LOOK_AHEAD_H * 3600.0));
    let span = Validity { from: pass.aos.unwrap_or(from), until };
    let plan = Plan::new(track.clone(), mount.clone(), span, 1);
    let found = plan.and_then(|plan| plan.prospect().map(|prospect| (plan, prospect)));
    let (plan, prospect) = found.ok_or_else(|| {
        Failure::Failed(format!(
            "{name}: the beam can't be planned for this pass: the mount has no place in it, or no way; check \
             the limits and `no_go`"
        ))
    })?;
    Ok(Planned { track, mount, pass, span, plan, prospect })
}

fn line<'a>(planned: &'a Planned<'_>) -> Line<'a> {
    let Planned { track, mount, pass, span, prospect, .. } = planned;
    Line {
        satellite: track.name(),
        catalog_number: track.catalog_number(),
        aos: rfc3339(span.from),
        highest: rfc3339(pass.highest),
        los: rfc3339(span.until),
        max_elevation_deg: rounded(pass.max_elevation_deg),
        begins_azimuth_deg: rounded(prospect.rises_at.azimuth),
        begins_elevation_deg: rounded(prospect.rises_at.elevation),
        ends_azimuth_deg: rounded(prospect.sets_at.azimuth),
        ends_elevation_deg: rounded(prospect.sets_at.elevation),
        flips: prospect.flips,
        worst_error_deg: rounded(prospect.worst_deg),
        worst_at: rfc3339(prospect.worst_at),
        mean_error_deg: rounded(prospect.mean_deg),
        beam_width_deg: mount.beam_width,
        worst_loss_db: rounded(prospect.worst_loss_db),
        beyond_3_db_s: prospect.beyond_3_db_s,
        azimuth_starts: prospect.starts.map(|starts| starts[0]),
        elevation_starts: prospect.starts.map(|starts| starts[1]),
    }
}

fn show(planned: &Planned<'_>) -> Result<(), Failure> {
    let Planned { track, mount, pass, span, prospect, .. } = planned;
    let mut lines = vec![format!(
        "{}: highest {:.0} degrees in {} at {}",
        track.name(),
        pass.max_elevation_deg,
        compass(pass.highest_azimuth_deg),
        both_clocks(pass.highest)
    )];
    lines.push(format!("  rises    {}{}", both_clocks(span.from), whereto(pass.aos_azimuth_deg)));
    lines.push(format!("  sets     {}{}", both_clocks(span.until), whereto(pass.los_azimuth_deg)));
    lines.push(format!("  waits    at {}", place(prospect.rises_at, mount)));
    lines.push(format!("  ends     at {}", place(prospect.sets_at, mount)));
    if prospect.flips {
        lines.push("  flips    it looks over the top, beyond 90 degrees of elevation".to_owned());
    }
    lines.push(if prospect.worst_deg < 0.1 {
        "  worst    never off by a tenth of a degree".to_owned()
    } else {
        format!("  worst    {:.1} degrees off at {}", prospect.worst_deg, both_clocks(prospect.worst_at))
    });
    lines.push(format!(
        "  mean     {:.1} degrees off, the near part of the pass counting more",
        prospect.mean_deg
    ));
    lines.push(loss(mount, prospect));
    if mount.elevation.is_none() {
        lines.push("  counted  in azimuth alone: the beam stays as high as you mounted it".to_owned());
    }
    if let Some([azimuth, elevation]) = prospect.starts {
        let tilts = mount.elevation.map_or(String::new(), |_| format!(", the elevation's {elevation} times"));
        lines.push(format!("  starts   the azimuth's motor {azimuth} times{tilts}: quietly"));
    }
    lines.iter().flat_map(|line| wrap(line)).try_for_each(say)
}

fn loss(mount: &Mount, prospect: &Prospect) -> String {
    // Far outside the main lobe nobody knows.
    let most = if prospect.worst_loss_db < 12.0 {
        format!("{:.1} dB at most", prospect.worst_loss_db)
    } else {
        "more than 12 dB at the worst".to_owned()
    };
    let beyond = if prospect.beyond_3_db_s > 0.0 {
        format!("; more than 3 dB for {}", duration(prospect.beyond_3_db_s))
    } else {
        String::new()
    };
    format!("  loses    {most}{beyond}, with a beam {} degrees wide", mount.beam_width)
}

fn whereto(azimuth: Option<f64>) -> String {
    azimuth.map_or(String::new(), |azimuth| format!("  in {} ({azimuth:.0})", compass(azimuth)))
}

/// In the mount's own degrees, and in which turn of it where that is not the compass' own.
fn place(place: crate::terms::AzEl, mount: &Mount) -> String {
    let turns = (place.azimuth / 360.0).floor();
    let wrap = match turns as i32 {
        0 => String::new(),
        turns => {
            format!(" ({:.0} with {turns:+} turn of the cable)", place.azimuth - 360.0 * f64::from(turns))
        }
    };
    let tilt = mount.elevation.map_or(String::new(), |_| format!(" elevation {:.1}", place.elevation));
    format!("azimuth {:.1}{wrap}{tilt}", place.azimuth)
}
