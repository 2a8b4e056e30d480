//! `beamhand listening`: which satellites answer, from what the daemon heard.

mod bands;
mod heard;
mod picture;
mod table;
mod wire;

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use crate::listening::{Comparison, Findings, Pass, State, compare};
use crate::store::write_shared;

use super::Failure;
use super::text::{say, show};

pub(super) use heard::Heard;

/// Which satellites answer: what was heard, against the noise outside the passes
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand listening                       the last 30 days, every link
  beamhand listening --days 7 --satellite GANNET-1
  beamhand listening --by elevation        where in the sky it is heard
  beamhand listening --by antenna          which of two antennas hears more
  beamhand listening --svg heard.svg

A pass counts as heard only where noise alone does as much in one pass of a hundred at most: minutes of \
the pass are compared with minutes before and after passes, at the same settings of the dial, so that a \
local carrier is no satellite. A link is active, quiet or undecided by all its good passes, wrong in one \
case of a hundred at most. The daemon listens while `auto` is on: see [listening] in beamhand.toml.")]
pub(super) struct Listening {
    #[command(flatten)]
    heard: Heard,
    /// Tell the share of the time in which each link was heard, or compare antennas
    #[arg(long, value_enum, value_name = "WHAT")]
    by: Option<By>,
    /// One JSON object per line of the table
    #[arg(long, conflicts_with = "csv")]
    json: bool,
    /// A table with commas, with a heading
    #[arg(long)]
    csv: bool,
    /// Draw each link into a file: signal and noise over the pass, and a map of the sky
    #[arg(long, value_name = "FILE", conflicts_with_all = ["json", "csv", "by"])]
    svg: Option<PathBuf>,
}

/// By what time is told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum By {
    /// Bands of ten degrees
    Elevation,
    /// Bands of thirty degrees
    Azimuth,
    /// Hours of the day, by the clock on the wall
    Hour,
    /// The antennas' labels, two and two
    Antenna,
}

impl Listening {
    pub(super) fn run(self) -> Result<(), Failure> {
        let findings = self.heard.findings()?;
        if let Some(file) = &self.svg {
            write_shared(file, picture::draw(&findings).as_bytes())
                .map_err(|error| Failure::Failed(format!("{}: {error}", file.display())))?;
            return say(format_args!("drawn into {}", file.display()));
        }
        match self.by {
            None if self.json || self.csv => {
                wire::put(&findings.iter().map(wire::Link::of).collect::<Vec<_>>(), self.csv)
            }
            None => table::show(&findings, self.heard.days()),
            Some(By::Antenna) => {
                let pairs = pairs(&findings)?;
                if self.json || self.csv {
                    return wire::put(&pairs.iter().map(wire::Pair::of).collect::<Vec<_>>(), self.csv);
                }
                pairs.iter().try_for_each(|pair| show(table::antennas(pair)))
            }
            Some(by) if self.json || self.csv => wire::put(&bands::lines(&findings, by), self.csv),
            Some(by) => bands::show(&findings, by),
        }
    }
}

/// Every two antennas, on the links that are active.
fn pairs(findings: &[Findings]) -> Result<Vec<Comparison>, Failure> {
    let active = findings.iter().enumerate().filter(|(_, link)| link.verdict.state == State::Active);
    let passes: Vec<(usize, &Pass)> =
        active.flat_map(|(at, link)| link.passes.iter().map(move |pass| (at, pass))).collect();
    let mut antennas: Vec<&str> = passes.iter().map(|(_, pass)| pass.antenna.as_str()).collect();
    antennas.sort_unstable();
    antennas.dedup();
    if antennas.len() < 2 {
        let seen = match antennas.first() {
            None => "no link is active yet: antennas are compared on what both can hear".to_owned(),
            Some(one) => format!("only one antenna heard active links: {}", named(one)),
        };
        return Err(Failure::Failed(format!(
            "{seen}. Say what is connected with `beamhand antenna NAME`, and change it every few days"
        )));
    }
    let mut pairs = Vec::new();
    for (at, first) in antennas.iter().enumerate() {
        for second in antennas.iter().skip(at + 1) {
            pairs.push(compare((first, second), passes.iter().copied()));
        }
    }
    // Antennas that never heard the same link can't be compared, and need not be told beside others that can.
    if pairs.iter().any(is_common) {
        pairs.retain(is_common);
    }
    Ok(pairs)
}

fn is_common(pair: &Comparison) -> bool {
    pair.passes.0 > 0 && pair.passes.1 > 0
}

/// A label for people.
fn named(antenna: &str) -> String {
    if antenna.is_empty() { "the one without a name".to_owned() } else { format!("\"{antenna}\"") }
}
