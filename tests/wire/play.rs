//! Plays a capture into a real conversation, in virtual time.

use std::time::Duration;

use beamhand::device::conversation::{Conversation, ConversationSettings, Input, Outcome, Output};
use beamhand::device::{Fact, Value, Values};

use crate::capture::{Capture, Line, shown};

const MS: Duration = Duration::from_millis(1);
/// By so much the moment of a frame may differ from the capture's, which is in whole milliseconds.
const TOLERANCE: Duration = Duration::from_millis(2);

/// How the line hands over what came in.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Cut {
    /// In one read.
    Nowhere,
    /// The line of this number (counted in the capture) in two reads, the second from this byte on.
    At(usize, usize),
    /// Byte by byte, at the line's speed.
    Everywhere,
}

/// Plays the capture; what differs from it, if anything does.
pub(crate) fn play(capture: &Capture, cut: Cut) -> Result<(), String> {
    let mut player = Player::new(capture);
    player.compare(cut).map_err(|why| {
        let entry =
            |(at, what): &(Duration, String)| format!("    {:8.1} ms {what}\n", at.as_secs_f64() * 1e3);
        format!("{cut:?}: {why}\n{}", player.log.iter().map(entry).collect::<String>())
    })
}

/// Every position at which what came in can be cut in two.
pub(crate) fn cuts(capture: &Capture) -> impl Iterator<Item = Cut> {
    let lines = capture.lines.iter().enumerate();
    lines.flat_map(|(index, (_, line))| {
        let length = if let Line::Came(_, bytes) = line { bytes.len() } else { 0 };
        (1..length).map(move |at| Cut::At(index, at))
    })
}

struct Player<'c> {
    capture: &'c Capture,
    conversation: Conversation,
    byte_time: Duration,
    now: Duration,
    /// When the line before happened.
    mark: Duration,
    log: Vec<(Duration, String)>,
}

impl<'c> Player<'c> {
    fn new(capture: &'c Capture) -> Self {
        let settings = ConversationSettings::of(&capture.dialect, capture.address);
        Self {
            capture,
            byte_time: settings.byte_time,
            conversation: Conversation::new(capture.dialect.family(), settings),
            now: Duration::ZERO,
            mark: Duration::ZERO,
            log: Vec::new(),
        }
    }

    fn compare(&mut self, cut: Cut) -> Result<(), String> {
        let mut seen = 0;
        for (index, (number, line)) in self.capture.lines.iter().enumerate() {
            let compared = match line {
                Line::Seen(after, what) => {
                    seen += 1;
                    self.see(seen - 1, *after, what)
                }
                line => self.act(index, line, cut),
            };
            compared.map_err(|why| format!("line {number}: {why}"))?;
        }
        self.run_until(self.mark + 3000 * MS);
        if self.log.len() > seen { Err(format!("{} more", self.log.len() - seen)) } else { Ok(()) }
    }

    fn see(&mut self, seen: usize, after: Option<Duration>, what: &str) -> Result<(), String> {
        let from = self.mark;
        let (at, is) = self.next_seen(seen)?.clone();
        let off = after.map_or(Duration::ZERO, |after| (from + after).abs_diff(at));
        if is == what && off <= TOLERANCE { Ok(()) } else { Err(format!("\"{is}\", {:?} later", at - from)) }
    }

    /// The next frame or outcome that the capture has not shown yet, after such time as it takes.
    fn next_seen(&mut self, seen: usize) -> Result<&(Duration, String), String> {
        while self.log.len() <= seen {
            let Some(wake) = self.conversation.wake_at() else { return Err("nothing more".into()) };
            self.step(wake.max(self.now), Input::Time);
        }
        self.mark = self.log[seen].0;
        Ok(&self.log[seen])
    }

    fn act(&mut self, index: usize, line: &Line, cut: Cut) -> Result<(), String> {
        match line {
            Line::Begin { after, verb, values } => {
                let exchange = self.exchange(verb, values)?;
                let due = self.mark + after.unwrap_or_default();
                self.run_until(self.now.max(self.mark).max(self.conversation.ready_at()));
                if after.is_some() && due.abs_diff(self.now) > TOLERANCE {
                    return Err(format!("the line is free {:?} later", self.now - self.mark));
                }
                self.conversation.begin(exchange, self.now).map_err(|error| error.to_string())?;
                self.mark = self.now;
                self.step(self.now, Input::Time);
            }
            Line::Interrupt { verb } => {
                let exchange = self.exchange(verb, &Values::new())?;
                self.run_until(self.mark);
                let outputs = self.conversation.interrupt(exchange, self.now);
                self.note(outputs);
            }
            Line::Trouble => self.step(self.now.max(self.mark), Input::Trouble),
            Line::Wait(after) => {
                self.mark += *after;
                self.run_until(self.mark);
            }
            Line::Came(after, bytes) => {
                let end = self.mark + *after;
                self.hear(bytes, end, index, cut);
                self.mark = end;
            }
            Line::Seen(..) => {}
        }
        Ok(())
    }

    fn exchange(&self, verb: &str, values: &Values) -> Result<beamhand::device::dialect::Exchange, String> {
        let made = self.capture.dialect.exchange(verb, values, self.capture.address);
        made.map_err(|error| error.to_string())
    }

    /// Hears `bytes`, the last of them at `end`.
    fn hear(&mut self, bytes: &[u8], end: Duration, index: usize, cut: Cut) {
        let starts = match cut {
            Cut::At(line, at) if line == index => vec![0, at],
            Cut::Everywhere => (0..bytes.len()).collect(),
            _ => vec![0],
        };
        for (i, start) in starts.iter().enumerate() {
            let until = starts.get(i + 1).copied().unwrap_or(bytes.len());
            let early = self.byte_time * (bytes.len() - until) as u32;
            self.run_until(end.saturating_sub(early).max(self.mark).max(self.now));
            self.step(self.now, Input::Bytes(&bytes[*start..until]));
        }
    }

    fn run_until(&mut self, until: Duration) {
        while let Some(wake) = self.conversation.wake_at().filter(|wake| *wake <= until) {
            self.step(wake.max(self.now), Input::Time);
        }
        self.now = self.now.max(until);
    }

    fn step(&mut self, now: Duration, input: Input<'_>) {
        self.now = now;
        let outputs = self.conversation.step(now, input);
        self.note(outputs);
    }

    fn note(&mut self, outputs: Vec<Output>) {
        let is_binary = self.capture.is_binary();
        let text = |output| match output {
            Output::Write(frame) => Some(format!("> {}", shown(&frame, is_binary))),
            Output::Done(outcome) => Some(format!("= {}", outcome_text(&outcome, is_binary))),
            Output::Unasked { values, .. } => Some(format!("= told {}", readings(&values))),
            Output::Refused(text) => Some(format!("= refused late {text}")),
            Output::Noticed(Fact::HalfAnswer { came, of: Some(of) }) => {
                Some(format!("= half {came} of {of}"))
            }
            Output::Noticed(Fact::HalfAnswer { came, of: None }) => Some(format!("= half {came} bytes")),
            Output::Noticed(Fact::Collision) => Some("= collision".into()),
            // The outcome says the same.
            Output::Noticed(_) => None,
        };
        self.log.extend(outputs.into_iter().filter_map(text).map(|text| (self.now, text)));
    }
}

fn outcome_text(outcome: &Outcome, is_binary: bool) -> String {
    match outcome {
        Outcome::Done(values) if values.is_empty() => "done".into(),
        Outcome::Done(values) => format!("done {}", readings(values)),
        Outcome::Refused(text) => format!("refused {text}"),
        Outcome::NoAnswer => "no answer".into(),
        Outcome::NotUnderstood(bytes) => format!("not understood {}", shown(bytes, is_binary)),
        Outcome::Forbidden(why) => format!("forbidden {why}"),
        Outcome::TooLate => "too late".into(),
    }
}

/// Every reading in words, sorted by its name.
fn readings(values: &Values) -> String {
    let mut all: Vec<String> = values
        .iter()
        .map(|(field, value)| match value {
            Value::Hertz(hertz) => format!("{field} {}", hertz.0),
            Value::Mode(mode) => format!("{field} {}", mode.name()),
            Value::Tone(tone) => format!("{field} {tone}"),
            Value::Number(number) => format!("{field} {number}"),
            Value::Flag(flag) => format!("{field} {flag}"),
        })
        .collect();
    all.sort();
    all.join(", ")
}
