//! A capture as it stands in its file: what was begun, which bytes passed and when, and what was
//! made of them. The form is described in `tests/captures/README.md`.

use std::sync::Arc;
use std::time::Duration;

use beamhand::device::dialect::Dialect;
use beamhand::device::{Value, Values};
use beamhand::terms::{Hertz, Tone};

/// One capture.
pub(crate) struct Capture {
    pub(crate) dialect: Arc<Dialect>,
    /// The device's address on a bus.
    pub(crate) address: Option<u8>,
    /// Each with the number of its line in the file.
    pub(crate) lines: Vec<(usize, Line)>,
}

/// One line of a capture. Times count from the line before.
pub(crate) enum Line {
    /// An exchange begins as soon as the line is free: at this time, if one is given.
    Begin { after: Option<Duration>, verb: String, values: Values },
    /// A stop goes out at once, whatever is being said.
    Interrupt { verb: String },
    /// The port fails and is opened again.
    Trouble,
    /// Time passes.
    Wait(Duration),
    /// The last of these bytes comes in at this time.
    Came(Duration, Vec<u8>),
    /// What is seen next: a frame that is sent, or what is made of what came.
    Seen(Option<Duration>, String),
}

impl Capture {
    pub(crate) fn read(dialect: &str, text: &str) -> Result<Self, String> {
        let dialect = Dialect::builtin(dialect).ok_or("no such dialect")?;
        let mut capture = Self { dialect, address: None, lines: Vec::new() };
        for (number, line) in (1..).zip(text.lines()) {
            capture.take(number, line.trim_end()).map_err(|why| format!("line {number}: {why}"))?;
        }
        Ok(capture)
    }

    /// Whether its bytes are written in hex.
    pub(crate) fn is_binary(&self) -> bool {
        is_binary(&self.dialect)
    }

    fn take(&mut self, number: usize, line: &str) -> Result<(), String> {
        let (after, rest) = after(line)?;
        let (word, rest) = rest.split_once(' ').unwrap_or((rest, ""));
        let line = match (word, after) {
            ("", Some(after)) => Line::Wait(after),
            ("" | "#", None) => return Ok(()),
            ("address", None) => {
                self.address = Some(u8::from_str_radix(rest, 16).map_err(|e| e.to_string())?);
                return Ok(());
            }
            ("begin", after) => begin(after, rest)?,
            ("interrupt", None) => Line::Interrupt { verb: rest.to_owned() },
            ("trouble", None) => Line::Trouble,
            ("<", Some(after)) => Line::Came(after, bytes(rest, self.is_binary())?),
            // Read and written again, so that blanks between bytes don't matter.
            (">", after) => {
                Line::Seen(after, format!("> {}", shown(&bytes(rest, self.is_binary())?, self.is_binary())))
            }
            ("=", after) => Line::Seen(after, format!("= {rest}")),
            _ => return Err(format!("not understood: {word}")),
        };
        self.lines.push((number, line));
        Ok(())
    }
}

/// Whether frames of this dialect are shown in hex.
pub(crate) fn is_binary(dialect: &Dialect) -> bool {
    !matches!(dialect.family().name(), "semicolon" | "w-lines" | "az-el-words")
}

/// Bytes as a capture shows them.
pub(crate) fn shown(bytes: &[u8], is_binary: bool) -> String {
    if is_binary {
        return bytes.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(" ");
    }
    bytes.escape_ascii().to_string()
}

/// `+120ms` in front of a line, if it is there.
fn after(line: &str) -> Result<(Option<Duration>, &str), String> {
    let Some(rest) = line.strip_prefix('+') else { return Ok((None, line)) };
    let (number, rest) = rest.split_once("ms").ok_or("a time is written +120ms")?;
    let number = number.parse().map_err(|_| "a time is written +120ms")?;
    Ok((Some(Duration::from_millis(number)), rest.trim_start()))
}

fn begin(after: Option<Duration>, text: &str) -> Result<Line, String> {
    let mut words = text.split(' ');
    let verb = words.next().unwrap_or_default().to_owned();
    let mut values = Values::new();
    for word in words {
        let (field, text) = word.split_once('=').ok_or("a value is written field=value")?;
        values = values.with(field, value(field, text)?);
    }
    Ok(Line::Begin { after, verb, values })
}

fn value(field: &str, text: &str) -> Result<Value, String> {
    let number = || text.parse::<f64>().map_err(|_| format!("{text} is no number"));
    Ok(match field.rsplit('_').next() {
        Some("hz") => Value::Hertz(Hertz(text.parse().map_err(|_| format!("{text} is no frequency"))?)),
        Some("mode") => Value::Mode(text.parse()?),
        Some("tone") => Value::Tone(Tone::try_from(number()?).map_err(|error| error.to_string())?),
        _ => Value::Number(number()?),
    })
}

/// Hex pairs, or text in which `\r`, `\n` and `\x80` stand for one byte.
fn bytes(text: &str, is_binary: bool) -> Result<Vec<u8>, String> {
    let hex = |pair: &str| u8::from_str_radix(pair, 16).map_err(|_| format!("{pair} is no byte"));
    if is_binary {
        return text.split_whitespace().map(hex).collect();
    }
    let mut bytes = Vec::new();
    let mut rest = text;
    while let Some(letter) = rest.chars().next() {
        let (byte, taken) = match rest.get(..2) {
            Some("\\r") => (b'\r', 2),
            Some("\\n") => (b'\n', 2),
            Some("\\x") => (hex(rest.get(2..4).ok_or("\\x and two digits")?)?, 4),
            _ => (u8::try_from(letter).map_err(|_| format!("{letter} is no byte"))?, letter.len_utf8()),
        };
        bytes.push(byte);
        rest = &rest[taken..];
    }
    Ok(bytes)
}
