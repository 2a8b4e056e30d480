//! What goes over the line and what comes back, byte by byte as manuals show it.

use crate::cli::wire;
use crate::device::dialect::{Dialect, EncodeError, Exchange, Specimen, Step};
use crate::device::{Value, Values};
use crate::terms::{Hertz, Mode, Tone};

/// The frequency that every radio's example sets: it is the one that manuals like.
const EXAMPLE: Hertz = Hertz(145_950_000);
/// The address of a radio on a bus in the examples.
const ADDRESS: u8 = 0x4C;

/// The name and the line, and below them the examples.
pub(super) fn brief(dialect: &Dialect, is_own: bool) -> String {
    let line = dialect.line();
    let own = if is_own { ", your own" } else { "" };
    let mut lines = vec![format!("{:<20}{} baud, 8N{}{own}", dialect.name(), line.baud, line.stop_bits)];
    lines.extend(examples(dialect).map(|(what, verb)| format!("  {what}: {}", sent(dialect, verb))));
    lines.join("\n")
}

/// A command and the question that reads it back.
pub(super) fn worked(dialect: &Dialect) -> Vec<String> {
    let mut lines = Vec::new();
    for (what, verb) in examples(dialect) {
        let question = verb.replacen("do.", "ask.", 1);
        lines.push(format!("a worked exchange: {what}"));
        lines.extend(turn(dialect, "Beamhand sends ", verb, "nothing: a good command is silent"));
        if dialect.can(&question) {
            lines.extend(turn(dialect, "Beamhand asks  ", &question, "nothing"));
        }
    }
    lines
}

fn turn(dialect: &Dialect, says: &str, verb: &str, silence: &str) -> [String; 2] {
    let answer = answered(dialect, verb).unwrap_or_else(|| silence.to_owned());
    [format!("  {says}  {}", sent(dialect, verb)), format!("  the device says  {answer}")]
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

/// What goes over the line for one verb, and what comes back at its end, if anything does.
pub(super) fn said(dialect: &Dialect, verb: &str) -> (String, Option<String>) {
    (sent(dialect, verb), answered(dialect, verb).map(|answer| format!("-> {answer}")))
}

fn sent(dialect: &Dialect, verb: &str) -> String {
    let exchange = match encoded(dialect, verb) {
        Ok(exchange) => exchange,
        Err(error) => return error.to_string(),
    };
    let side = |steps: &[Step]| {
        let frame = |step: &Step| {
            let bytes: Specimen = step.frame.iter().copied().map(Some).collect();
            wire::frame(&bytes, dialect.family().style())
        };
        steps.iter().map(frame).collect::<Vec<_>>().join("  ")
    };
    match side(&exchange.finally) {
        none if none.is_empty() => side(&exchange.steps),
        finally => format!("{}  finally  {finally}", side(&exchange.steps)),
    }
}

/// One verb with the examples' values: FM and the first tone of the standard.
fn encoded(dialect: &Dialect, verb: &str) -> Result<Exchange, EncodeError> {
    dialect.exchange(verb, &values(), dialect.address().or(Some(ADDRESS)))
}

fn answered(dialect: &Dialect, verb: &str) -> Option<String> {
    let answer = dialect.answer(verb, &values(), dialect.address().or(Some(ADDRESS)))?;
    Some(wire::frame(&answer, dialect.family().style()))
}

fn values() -> Values {
    let mut values = Values::of_hertz(EXAMPLE)
        .with("mode", Value::Mode(Mode::Fm))
        .with("transmitting", Value::Flag(false))
        .with("squelch_open", Value::Flag(true))
        .with("split", Value::Flag(true));
    for (name, number) in [("az", 180.0), ("el", 45.0), ("ph", 1.0), ("pv", 1.0), ("signal", 9.0)] {
        values = values.with(name, Value::Number(number));
    }
    match Tone::all().next() {
        Some(tone) => values.with("tone", Value::Tone(tone)),
        None => values,
    }
}
