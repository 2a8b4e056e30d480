//! `beamhand dialects`: the wire languages, each by an exchange that a manual also shows.

use clap::Args;

use crate::device::dialect::{Dialect, Expect};
use crate::device::{Value, Values};
use crate::terms::Hertz;

use super::Failure;
use super::text::{say, wrap};

/// The frequency that every radio's example sets: it is the one that manuals like.
const EXAMPLE: Hertz = Hertz(145_950_000);
/// The address of a radio on a bus in the examples.
const ADDRESS: u8 = 0x5A;

/// List the wire languages, each with an example to compare with your radio's manual
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand dialects                    all of them, one example each
  beamhand dialects w-lines            everything that one can say

Compare the examples with the chapter on computer control in your radio's or controller's \
manual. The codes are from memory of such manuals: yours is the authority.")]
pub(super) struct Dialects {
    /// Only this one, in full
    name: Option<String>,
}

impl Dialects {
    pub(super) fn run(self) -> Result<(), Failure> {
        match self.name {
            None => {
                Dialect::names().filter_map(Dialect::builtin).try_for_each(|dialect| say(brief(&dialect)))
            }
            Some(name) => {
                let known: Vec<&str> = Dialect::names().collect();
                let dialect = Dialect::builtin(&name).ok_or_else(|| {
                    Failure::Failed(format!("no dialect \"{name}\"; there are {}", known.join(", ")))
                })?;
                say(brief(&dialect))?;
                let line = |verb: &str| format!("  {verb:<29} {}", said(&dialect, verb));
                let mut verbs = dialect.verbs();
                verbs.try_for_each(|verb| say(wrap(&line(verb)).join("\n")))
            }
        }
    }
}

/// The name and the line, and below them one example.
fn brief(dialect: &Dialect) -> String {
    let line = dialect.line();
    let example =
        ["do.hz", "do.rx_hz", "do.aim"].into_iter().find(|verb| dialect.can(verb)).unwrap_or("do.azimuth");
    let what = if example == "do.aim" { "azimuth 180, elevation 45".to_owned() } else { EXAMPLE.to_string() };
    let usual = format!("{:<18}{} baud, 8N{}", dialect.name(), line.baud, line.stop_bits);
    format!("{usual}\n  {what}: {}", said(dialect, example))
}

/// What goes over the line for one verb.
fn said(dialect: &Dialect, verb: &str) -> String {
    let tone = dialect.tones().into_iter().next();
    let mode = dialect.modes().into_iter().next();
    let mut values = Values::of_hertz(EXAMPLE)
        .with("az", Value::Number(180.0))
        .with("el", Value::Number(45.0))
        .with("ph", Value::Number(1.0))
        .with("pv", Value::Number(1.0));
    if let (Some(tone), Some(mode)) = (tone, mode) {
        values = values.with("tone", Value::Tone(tone)).with("mode", Value::Mode(mode));
    }
    match dialect.exchange(verb, &values, dialect.address().or(Some(ADDRESS))) {
        Ok(exchange) => {
            let frames: Vec<String> = exchange.frames().map(shown).collect();
            let answered = exchange.steps.last().is_some_and(|step| step.answer != Expect::Nothing);
            frames.join("  ") + if answered { "  (answered)" } else { "" }
        }
        Err(error) => error.to_string(),
    }
}

/// Text as text, anything else as hexadecimal pairs.
fn shown(frame: &[u8]) -> String {
    let text = frame.strip_suffix(b"\r").unwrap_or(frame);
    if text.iter().all(|byte| (b' '..=b'~').contains(byte)) && text.iter().any(u8::is_ascii_alphabetic) {
        let end = if text.len() < frame.len() { " CR" } else { "" };
        return String::from_utf8_lossy(text).into_owned() + end;
    }
    frame.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(" ")
}
