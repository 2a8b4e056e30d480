//! `beamhand dialects`: the wire languages, each by an exchange that a manual also shows.

use clap::Args;

use crate::config::{Dialects as Known, Service};
use crate::device::dialect::{Dialect, EncodeError, Exchange, Expect};
use crate::device::{Value, Values};
use crate::terms::{Hertz, Mode, Tone};

use super::Failure;
use super::text::{say, wrap};

/// The frequency that every radio's example sets: it is the one that manuals like.
const EXAMPLE: Hertz = Hertz(145_950_000);
/// The address of a radio on a bus in the examples.
const ADDRESS: u8 = 0x4C;

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
        let Some(name) = self.name else {
            list("radios", Service::Radio(None))?;
            return list("rotators", Service::Rotator);
        };
        let known: Vec<&str> = Dialect::names().collect();
        let dialect = Dialect::builtin(&name).ok_or_else(|| {
            Failure::Failed(format!("no dialect \"{name}\"; there are {}", known.join(", ")))
        })?;
        say(brief(&dialect))?;
        let line = |verb: &str| wrap(&format!("  {verb:<30} {}", said(&dialect, verb))).join("\n");
        dialect.verbs().try_for_each(|verb| say(line(verb)))
    }
}

fn list(heading: &str, service: Service) -> Result<(), Failure> {
    say(format_args!("{heading}"))?;
    service.fitting(&Known::built_in()).try_for_each(|dialect| say(indented(&brief(&dialect))))
}

fn indented(text: &str) -> String {
    text.lines().map(|line| format!("  {line}")).collect::<Vec<_>>().join("\n")
}

/// The name and the line, and below them the examples.
fn brief(dialect: &Dialect) -> String {
    let line = dialect.line();
    let mut lines = vec![format!("{:<18}{} baud, 8N{}", dialect.name(), line.baud, line.stop_bits)];
    lines.extend(examples(dialect).map(|(what, verb)| format!("  {what}: {}", said(dialect, verb))));
    lines.join("\n")
}

/// What is set in an example, and the verb that sets it. Both bands are shown where one frame each
/// does it; on a bus it takes selecting, and then the plain command is what manuals show.
fn examples(dialect: &Dialect) -> impl Iterator<Item = (String, &'static str)> {
    let single = |verb: &&str| encoded(dialect, verb).is_ok_and(|exchange| exchange.frames().count() == 1);
    let bands = [("receive ", "do.rx_hz"), ("transmit ", "do.tx_hz")];
    let shown = if bands.iter().all(|(_, verb)| single(verb)) {
        bands.to_vec()
    } else if dialect.can("do.hz") {
        vec![("", "do.hz")]
    } else {
        Vec::new()
    };
    let radio = shown.into_iter().map(|(direction, verb)| (format!("{direction}{EXAMPLE}"), verb));
    let aim = dialect.can("do.aim").then(|| ("azimuth 180, elevation 45".to_owned(), "do.aim"));
    radio.chain(aim)
}

/// What goes over the line for one verb.
fn said(dialect: &Dialect, verb: &str) -> String {
    match encoded(dialect, verb) {
        Ok(exchange) => {
            let frames: Vec<String> = exchange.frames().map(shown).collect();
            let answered = exchange.steps.last().is_some_and(|step| step.answer != Expect::Nothing);
            frames.join("  ") + if answered { "  (answered)" } else { "" }
        }
        Err(error) => error.to_string(),
    }
}

/// One verb with the examples' values: FM and the first tone of the standard.
fn encoded(dialect: &Dialect, verb: &str) -> Result<Exchange, EncodeError> {
    let mut values = Values::of_hertz(EXAMPLE)
        .with("az", Value::Number(180.0))
        .with("el", Value::Number(45.0))
        .with("ph", Value::Number(1.0))
        .with("pv", Value::Number(1.0))
        .with("mode", Value::Mode(Mode::Fm));
    if let Some(tone) = Tone::all().next() {
        values = values.with("tone", Value::Tone(tone));
    }
    dialect.exchange(verb, &values, dialect.address().or(Some(ADDRESS)))
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
