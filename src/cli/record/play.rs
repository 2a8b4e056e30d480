//! `beamhand record replay`.

use clap::Args;
use serde_json::json;

use crate::cli::text::{say, wrap_at};
use crate::daemon::{Difference, Machine, replay};
use crate::record::read_file;

use super::{Failure, Place, Wanted};

/// Play a session again, with the same inputs at the same moments: nothing is opened or moved
#[derive(Args, Debug)]
#[command(after_help = "\
The session's and each line's own machinery begins as it was, hears what it heard then, and is \
compared in what it orders and writes. Where this version does something else, that is shown. \
Exit code 0: the same; 1: not the same, or it can't be played.")]
pub(super) struct Replay {
    #[command(flatten)]
    wanted: Wanted,
    /// One JSON object per machine, a line each
    #[arg(long)]
    json: bool,
}

impl Replay {
    pub(super) fn run(self, place: &Place) -> Result<(), Failure> {
        let found = self.wanted.find(place)?;
        let record = read_file(&found.file).map_err(Failure::Failed)?;
        let played = replay(&record).map_err(Failure::Failed)?;
        for machine in &played.machines {
            if self.json {
                say(json(machine))?;
            } else {
                text(machine).iter().try_for_each(|line| say(wrap_at(line, 13)))?;
            }
        }
        if played.is_empty() {
            return Err(Failure::Failed(format!("nothing of {} can be played again", found.name)));
        }
        if played.differs() {
            let versions = format!("{}, and this is {}", record.head.version, env!("CARGO_PKG_VERSION"));
            return Err(Failure::Failed(format!("not the same; the record is of version {versions}")));
        }
        if self.json { Ok(()) } else { say("the same") }
    }
}

fn text(machine: &Machine) -> Vec<String> {
    let Machine { name, from_s, inputs, compared, differences, stopped } = machine;
    let how = match from_s {
        Some(from) => format!("{inputs} inputs from {from:.3} s on, {compared} orders and frames compared"),
        None => "not played".to_owned(),
    };
    let mut all = vec![format!("{name:<12} {how}")];
    all.extend(stopped.iter().map(|why| format!("{:<12} {why}", "")));
    all.extend(differences.iter().flat_map(difference));
    all
}

fn difference(difference: &Difference) -> Vec<String> {
    let Difference { at, line, then, now, .. } = difference;
    let mut all = vec![format!("  DIFFERS at {:.3} s, line {line} of the record", at.seconds())];
    let told = |what: &str, each: &[String]| match each {
        [] => vec![format!("{what:>12} nothing")],
        each => each.iter().map(|one| format!("{what:>12} {}", one.escape_debug())).collect(),
    };
    all.extend(told("then", then));
    all.extend(told("now", now));
    all
}

fn json(machine: &Machine) -> String {
    let Machine { name, from_s, inputs, compared, differences, stopped } = machine;
    let differences: Vec<_> = differences
        .iter()
        .map(|Difference { at, line, then, now, .. }| {
            json!({ "at_s": at.seconds(), "line": line, "then": then, "now": now })
        })
        .collect();
    json!({
        "machine": name,
        "from_s": from_s,
        "inputs": inputs,
        "compared": compared,
        "differences": differences,
        "stopped": stopped,
    })
    .to_string()
}
