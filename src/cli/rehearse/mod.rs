//! `beamhand rehearse`: a whole pass on a clock of its own, with simulated equipment or the real.

mod cables;
mod play;
mod scenery;
mod summary;

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use crate::config::Config;
use crate::daemon::Catalog;
use crate::rehearsal::{FaultOrder, OperatorOrder, Stage, demo, demo_evening, known_faults};
use crate::terms::Time;

use super::Failure;
use super::check::checked;
use super::consent;
use super::text::{remark, say, show};
use play::Performance;

/// How fast simulated equipment plays unless the command line says: a pass in some twenty seconds.
const SPEED: f64 = 45.0;

const CAUTIONS: &str = "\
CAUTION. This tunes and moves real equipment, as in a real pass. Before it does:
- transmitter: hands off the key, for its dial moves too; keying by DTR or RTS
  off in the radio's menu, and in any interface
- mount: nobody and nothing near where it turns, its cables free, the switch
  that cuts its motors' power in reach
Ctrl-C stops the motors; `beamhand halt` does not work here.
";

/// Play a whole pass on a clock of its own
#[derive(Args, Debug)]
#[command(after_help = after_help())]
pub(super) struct Rehearse {
    /// The configuration [default: the embedded demo]
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
    /// By name or catalog number [default: the demo's repeater, else the first that is known]
    #[arg(long, value_name = "NAME")]
    satellite: Option<String>,
    /// Play the pass that is on at this time or comes next, as RFC 3339 or
    /// "2026-11-25 18:30" in UTC [default: an evening of the
    /// demo, else now]
    #[arg(long, value_name = "TIME", value_parser = super::text::time)]
    at: Option<Time>,
    /// How many times faster than real [default: 45; 1 with configured equipment]
    #[arg(long, value_name = "N", value_parser = speed)]
    speed: Option<f64>,
    /// End after so many seconds of the rehearsal's own time [default: with the pass]
    #[arg(long, value_name = "S", value_parser = duration)]
    duration: Option<f64>,
    /// What is at the other end of the lines
    #[arg(long, value_enum, default_value_t = Equipment::Simulated)]
    equipment: Equipment,
    /// Break something: DEVICE:FAULT[=N]@SECONDSs[-SECONDSs], counted from the
    /// clock's start; may be given several times
    #[arg(long, value_name = "FAULT")]
    fault: Vec<FaultOrder>,
    /// Let the operator act: key@60s-90s or turn=+3000@100s; may be given
    /// several times
    #[arg(long, value_name = "ACT")]
    operator: Vec<OperatorOrder>,
    /// With configured equipment, ask nothing: you have read the cautions, and they are met
    #[arg(long)]
    yes: bool,
    /// Show nothing but one JSON object at the end
    #[arg(long)]
    json: bool,
}

/// What is to happen to simulated equipment.
#[derive(Debug)]
struct Orders {
    faults: Vec<FaultOrder>,
    operator: Vec<OperatorOrder>,
}

impl Orders {
    fn is_empty(&self) -> bool {
        self.faults.is_empty() && self.operator.is_empty()
    }
}

fn after_help() -> String {
    format!(
        "\
Examples:
  beamhand rehearse                        the demo, in about twenty seconds
  beamhand rehearse --speed 1              the same at its real pace
  beamhand rehearse --config ./beamhand.toml --satellite GANNET-1
  beamhand rehearse --fault rotator:stalled@120s-180s
  beamhand rehearse --operator key@200s-230s --operator turn=+3000@250s
  beamhand rehearse --json                 a summary for programs

Exit code 0: played. 1: it could not be played, or what must never happen, happened.

Simulated equipment sits at the far end of real pseudo-terminals and keeps a record of what \
reached it; the summary is made from that record. With --equipment configured the bytes go to \
the ports that the configuration names, and what is connected there really tunes and turns: \
nobody near the antenna, its cables free, line keying off in the radio's menu. It asks you to \
confirm that. Ctrl-C stops the motors; `beamhand halt` does not work here.

Faults of simulated equipment. DEVICE is its name in the configuration, or radio (every \
radio) or rotator; without a second time a fault stays to the end; [N] is used if none is given:
{}
The operator's key is that of the simulated radio: Beamhand itself never keys, and with \
--equipment configured neither faults nor an operator can be ordered.",
        known_faults()
    )
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Equipment {
    /// Simulated equipment at the far end of pseudo-terminals
    Simulated,
    /// What the configuration names, on its real ports
    Configured,
}

impl Rehearse {
    pub(super) fn run(self) -> Result<(), Failure> {
        let stage = self.stage()?;
        let speed = self.speed.unwrap_or(if self.equipment == Equipment::Simulated { SPEED } else { 1.0 });
        if self.equipment == Equipment::Configured && speed > 1.0 {
            return Err(Failure::Usage(
                "real equipment is never driven faster than real time: leave --speed out".into(),
            ));
        }
        let orders = Orders { faults: self.fault, operator: self.operator };
        if self.equipment == Equipment::Configured && !orders.is_empty() {
            return Err(Failure::Usage(
                "faults and an operator are for simulated equipment: leave --fault and --operator out".into(),
            ));
        }
        if self.equipment == Equipment::Configured && !self.yes {
            confirm(self.json)?;
        }
        let (equipment, duration, quiet) = (self.equipment, self.duration, self.json);
        let performance = Performance { speed, equipment, duration, quiet, orders };
        let played = play::play(stage, &performance)?;
        if quiet {
            say(serde_json::to_string(&played).unwrap_or_default())?;
        } else {
            show(summary::text(&played, equipment))?;
        }
        match played.violations() {
            0 => Ok(()),
            _ => Err(Failure::Failed("what must never happen, happened: see VIOLATIONS".to_owned())),
        }
    }

    fn stage(&self) -> Result<Stage, Failure> {
        let (config, catalog) = self.source()?;
        let satellite = match &self.satellite {
            Some(name) => name.clone(),
            None if self.config.is_none() => "GANNET-1".to_owned(),
            None => catalog
                .satellites()
                .first()
                .map(|satellite| satellite.name.clone())
                .ok_or_else(|| Failure::Failed("the satellites file names no satellite".to_owned()))?,
        };
        let at = match self.at {
            Some(at) => at,
            None if self.config.is_none() => demo_evening(),
            None => chrono::Utc::now(),
        };
        Stage::set(config, catalog, &satellite, None, at).map_err(Failure::Failed)
    }

    fn source(&self) -> Result<(Config, Catalog), Failure> {
        let Some(path) = &self.config else { return Ok(demo()?) };
        let (config, satellites) = checked(Some(path))?;
        let (catalog, complaints) = Catalog::load(&config, satellites);
        complaints.iter().for_each(remark);
        Ok((config, catalog))
    }
}

/// Real equipment moves: somebody has read what that takes.
fn confirm(is_for_programs: bool) -> Result<(), Failure> {
    if is_for_programs {
        let what = "real equipment moves, and --json asks nothing: run it once without, then say --yes";
        return Err(Failure::Usage(what.to_owned()));
    }
    consent::obtain(CAUTIONS, "nothing was opened or moved")
}

fn speed(text: &str) -> Result<f64, String> {
    super::text::between(text, 0.1, 100.0, "times real time")
}

fn duration(text: &str) -> Result<f64, String> {
    super::text::between(text, 1.0, 1e6, "seconds")
}
