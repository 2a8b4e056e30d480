//! `beamhand horizon propose`: the station's own horizon, as the watch heard it.

use clap::{Args, Subcommand};
use serde::Serialize;

use crate::listening::{Corner, Pass, State, horizon, mask};

use super::Failure;
use super::listening::Heard;
use super::text::{compass, rounded, say, wrap_at};

/// Corners that are left out of the mask lie this near to it, degrees.
const WITHIN_DEG: f64 = 0.5;

/// The station's own horizon: hills, houses and trees
#[derive(Args, Debug)]
pub(super) struct Horizon {
    #[command(subcommand)]
    what: What,
}

#[derive(Subcommand, Debug)]
enum What {
    Propose(Propose),
}

/// Proposes a horizon, from where satellites were heard and where not; you put it into [station]
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand horizon propose
  beamhand horizon propose --days 90 --satellite GANNET-1

It is taken from the passes of active links in which they were heard. What hides a satellite is not known: \
one that is weak sets the horizon too high everywhere, so ask strong ones, one by one with --satellite, and \
compare. Look out of the window, too. Nothing is changed: what is printed is to be pasted.")]
struct Propose {
    #[command(flatten)]
    heard: Heard,
    /// One JSON object per direction, a line each
    #[arg(long)]
    json: bool,
}

/// A direction; what is not known is null.
#[derive(Serialize)]
struct Line {
    azimuth_deg: f64,
    elevation_deg: Option<f64>,
    low_deg: f64,
    high_deg: f64,
    known: bool,
}

impl Horizon {
    pub(super) fn run(self) -> Result<(), Failure> {
        match self.what {
            What::Propose(propose) => propose.run(),
        }
    }
}

impl Propose {
    fn run(self) -> Result<(), Failure> {
        let findings = self.heard.findings()?;
        let active = findings.iter().filter(|link| link.verdict.state == State::Active);
        let passes: Vec<&Pass> =
            active.flat_map(|link| &link.passes).filter(|pass| pass.is_heard()).collect();
        let corners = horizon(passes.iter().copied());
        if self.json {
            return corners.iter().try_for_each(|corner| say(json(corner)?));
        }
        let unknown: Vec<&Corner> = corners.iter().filter(|corner| !corner.is_known()).collect();
        if unknown.len() * 2 > corners.len() {
            return Err(Failure::Failed(format!(
                "of {} directions, {} are not known yet, after {} passes in which an active link was heard; \
                 let the watch go on, with `minimum_elevation = 0` in [listening]: some hundred passes are \
                 needed",
                corners.len(),
                unknown.len(),
                passes.len()
            )));
        }
        show(&corners, &unknown, passes.len())
    }
}

fn show(corners: &[Corner], unknown: &[&Corner], passes: usize) -> Result<(), Failure> {
    let comment = |text: String| say(wrap_at(&format!("# {text}"), 0).replace('\n', "\n# "));
    comment(format!("From {passes} passes. Heard above this; each height is known to about two degrees."))?;
    if !unknown.is_empty() {
        let names: Vec<String> = unknown
            .iter()
            .map(|corner| format!("{:.0} ({})", corner.azimuth_deg, compass(corner.azimuth_deg)))
            .collect();
        comment(format!("Not known yet, drawn straight through: {}", names.join(", ")))?;
    }
    let pairs = mask(corners, WITHIN_DEG);
    let pair = |(azimuth, elevation): &(f64, f64)| {
        let half = (elevation * 2.0).round() / 2.0;
        format!("[{azimuth:.0}, {half}]")
    };
    let pairs: Vec<String> = pairs.iter().map(pair).collect();
    say("horizon = [")?;
    pairs.chunks(6).try_for_each(|row| say(format_args!("    {},", row.join(", "))))?;
    say("]")
}

fn json(corner: &Corner) -> Result<String, Failure> {
    let line = Line {
        azimuth_deg: corner.azimuth_deg,
        elevation_deg: corner.is_known().then(|| rounded(corner.elevation_deg)),
        low_deg: rounded(corner.low_deg),
        high_deg: rounded(corner.high_deg),
        known: corner.is_known(),
    };
    serde_json::to_string(&line).map_err(|error| Failure::Failed(error.to_string()))
}
