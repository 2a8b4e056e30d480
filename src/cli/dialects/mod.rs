//! `beamhand dialects`: the wire languages, each by an exchange that a manual also shows.

mod check;
mod lacks;
mod worked;

use std::path::PathBuf;

use clap::{Args, Subcommand};

use crate::config::{Dialects as Known, Service};
use crate::device::dialect::Dialect;

use super::Failure;
use super::source::{load_dialects, named, no_dialect};
use super::text::{say, show, wrap, wrap_at};
use worked::{brief, said, worked};

/// List the wire languages, each with an example to compare with your radio's manual
#[derive(Args, Debug)]
#[command(args_conflicts_with_subcommands = true)]
#[command(after_help = "\
Examples:
  beamhand dialects                    all of them, one example each
  beamhand dialects w-lines            one in full, with a worked exchange
  beamhand dialects print fe-frames    its file, as a start for one of your own
  beamhand dialects check mine.toml    whether your own file does what it should

Compare the examples with the chapter on computer control in your radio's or controller's \
manual. The codes are from memory of such manuals: yours is the authority.")]
pub(super) struct Dialects {
    /// Only this one, in full
    name: Option<String>,
    /// The configuration whose own dialects are meant too [default: yours, else the system's]
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
    #[command(subcommand)]
    task: Option<Task>,
}

#[derive(Subcommand, Debug)]
enum Task {
    /// Prove a file of your own: what it sends, what it lacks, and that it reads what it sets
    #[command(after_help = "\
Nothing is opened and nothing sent. Exit code 0: it is in order. 78: it is not, each fault with \
its place.")]
    Check {
        /// The file, NAME.toml; what it builds on may stand beside it
        file: PathBuf,
    },
    /// Print a built-in dialect's file
    Print {
        /// Its name
        name: String,
    },
}

impl Dialects {
    pub(super) fn run(self) -> Result<(), Failure> {
        match self.task {
            Some(Task::Check { file }) => check::run(&file),
            Some(Task::Print { name }) => {
                let known: Vec<&str> = Dialect::names().collect();
                show(Dialect::builtin_text(&name).ok_or_else(|| no_dialect(&name, &known))?)
            }
            None => {
                let dialects = load_dialects(self.config.as_deref())?;
                match self.name {
                    Some(name) => in_full(&dialects, &name),
                    None => list(&dialects),
                }
            }
        }
    }
}

fn list(dialects: &Known) -> Result<(), Failure> {
    for (heading, service) in [("radios", Service::Radio(None)), ("rotators", Service::Rotator)] {
        say(heading)?;
        for dialect in service.fitting(dialects) {
            let text = brief(&dialect, dialects.file(dialect.name()).is_some());
            text.lines().try_for_each(|line| say(wrap(&format!("  {line}")).join("\n")))?;
        }
    }
    let broken = |name: &&str| matches!(dialects.get(name), Some(Err(_)));
    for file in dialects.own().filter(broken).filter_map(|name| dialects.file(name)) {
        say(wrap_at(&format!("{} has faults: beamhand dialects check FILE names them", file.display()), 2))?;
    }
    Ok(())
}

fn in_full(dialects: &Known, name: &str) -> Result<(), Failure> {
    let dialect = named(dialects, name)?;
    let file = dialects.file(name);
    say(brief(&dialect, file.is_some()).lines().next().unwrap_or_default())?;
    if let Some(file) = file {
        let root = dialect.root().map_or(String::new(), |root| format!(", on the built-in {root}"));
        say(wrap_at(&format!("  from {}{root}", file.display()), 4))?;
    }
    say("")?;
    worked(&dialect).into_iter().try_for_each(|line| say(wrap(&line).join("\n")))?;
    say(format_args!("\neverything that it can say; {LEGEND}"))?;
    abilities(&dialect)
}

/// What the signs between the bytes of an ability mean.
const LEGEND: &str = "\
-> is what comes back, .. may be anything, and
what stands behind \"finally\" is sent whatever happened before it";

/// Every ability with its bytes. An answer that has no room beside the question stands below it.
fn abilities(dialect: &Dialect) -> Result<(), Failure> {
    for verb in dialect.verbs() {
        let (sent, answer) = said(dialect, verb);
        let question = format!("  {verb:<30} {sent}");
        let answer = answer.unwrap_or_default();
        match wrap(format!("{question}  {answer}").trim_end()) {
            one_line if one_line.len() == 1 => say(one_line.join("\n"))?,
            _ => {
                [question, format!("    {answer}")].iter().try_for_each(|line| say(wrap(line).join("\n")))?
            }
        }
    }
    Ok(())
}
