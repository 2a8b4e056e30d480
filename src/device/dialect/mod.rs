//! Dialects: how one make of equipment says each command and answers each question.
//!
//! A dialect is a TOML file: line settings, code tables, and one exchange per ability (`do.X`,
//! `ask.X`). An ability is there when its exchange is. The built-in ones are in `config/dialects`;
//! a user's file names one of them as its `base` and overrides it key by key.

mod abilities;
mod arithmetic;
mod base;
mod codec;
mod document;
mod exchange;
mod fault;
mod proof;
mod read;
mod siblings;
mod table;
mod template;
#[cfg(test)]
mod tests;
mod trial;

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};
use std::time::Duration;

pub use base::OwnTexts;
pub use exchange::{EncodeError, Exchange, Expect, Step};
pub use fault::DialectError;
pub use proof::{Doubt, Proof};
pub use siblings::StillSent;
pub(crate) use template::Style;
pub use template::Template;
pub use template::specimen::Specimen;

use super::family::Family;
use super::values::{Kind, Value, Values};
use crate::terms::{Hertz, Mode, Tone};
use document::Place;

/// The built-in dialects.
const BUILT_IN: [(&str, &str); 9] = [
    ("semicolon-eleven", include_str!("../../../config/dialects/semicolon-eleven.toml")),
    ("semicolon-nine", include_str!("../../../config/dialects/semicolon-nine.toml")),
    ("semicolon-two-bands", include_str!("../../../config/dialects/semicolon-two-bands.toml")),
    ("fe-frames", include_str!("../../../config/dialects/fe-frames.toml")),
    ("five-byte", include_str!("../../../config/dialects/five-byte.toml")),
    ("five-byte-duplex", include_str!("../../../config/dialects/five-byte-duplex.toml")),
    ("w-lines", include_str!("../../../config/dialects/w-lines.toml")),
    ("az-el-words", include_str!("../../../config/dialects/az-el-words.toml")),
    ("thirteen-byte", include_str!("../../../config/dialects/thirteen-byte.toml")),
];

/// What stands before `hz`, `mode` and `tone` where a radio has more than one dial.
const DIALS: [&str; 3] = ["rx_", "tx_", "other_"];

/// How the serial line is set, and how patient one is on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LineSettings {
    /// Bits per second.
    pub baud: u32,
    /// One or two; always eight data bits without parity.
    pub stop_bits: u8,
    /// How long an answer may take, counted from the moment when the question has left.
    pub answer: Duration,
}

impl LineSettings {
    /// How long one byte is on the wire, start and stop bits included.
    pub fn byte_time(&self) -> Duration {
        Duration::from_secs(1) * (9 + u32::from(self.stop_bits)) / self.baud.max(1)
    }
}

/// The station's topologies, as far as a radio's preparation depends on them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arrangement {
    /// The radio works in one direction, with one VFO.
    Single,
    /// One radio does both by turns, with two VFOs: the plain one receives, and the other one
    /// transmits.
    Split,
    /// One radio receives and transmits at the same time, on two bands.
    Duplex,
}

/// One dialect, checked: every command that it can encode has passed the never-list.
#[derive(Debug, Clone, PartialEq)]
pub struct Dialect {
    name: String,
    root: Option<&'static str>,
    family: Family,
    line: LineSettings,
    step: Hertz,
    resolution: f64,
    tunes_while_transmitting: bool,
    address: Option<u8>,
    refused: Arc<[Template]>,
    acknowledged: Arc<[Template]>,
    unasked: Arc<[Template]>,
    prepare: Preparation,
    tables: template::Tables,
    verbs: BTreeMap<String, Verb>,
    /// Abilities of the base that the file takes away.
    off: BTreeMap<String, Verb>,
}

/// The steps that prepare a radio, in order, for each arrangement.
#[derive(Debug, Clone, Default, PartialEq)]
struct Preparation {
    single: Vec<String>,
    split: Vec<String>,
    duplex: Vec<String>,
}

impl Preparation {
    fn all(&self) -> impl Iterator<Item = &str> {
        self.single.iter().chain(&self.split).chain(&self.duplex).map(String::as_str)
    }
}

/// One ability: what is sent, what always follows, and what answers the last frame of `send`.
#[derive(Debug, Clone, PartialEq)]
struct Verb {
    place: Place,
    send: Vec<Template>,
    finally: Vec<Template>,
    answer: Arc<[Template]>,
}

impl Dialect {
    /// The names of the built-in dialects.
    pub fn names() -> impl Iterator<Item = &'static str> {
        BUILT_IN.into_iter().map(|(name, _)| name)
    }

    /// A built-in dialect. Its trial takes a while, so that it is read once, when it is first asked for.
    pub fn builtin(name: &str) -> Option<Arc<Dialect>> {
        static READ: [OnceLock<Option<Arc<Dialect>>>; BUILT_IN.len()] =
            [const { OnceLock::new() }; BUILT_IN.len()];
        let ((name, text), read) = BUILT_IN.into_iter().zip(&READ).find(|((known, _), _)| *known == name)?;
        let dialect = || Some(Arc::new(Self { root: Some(name), ..Self::parse(name, text).ok()? }));
        read.get_or_init(dialect).clone()
    }

    /// A built-in dialect's file, for users to read.
    pub fn builtin_text(name: &str) -> Option<&'static str> {
        BUILT_IN.into_iter().find(|(known, _)| *known == name).map(|(_, text)| text)
    }

    /// Reads a dialect file that builds on nothing but built-in ones. Every fault is reported, each
    /// with its place; a command that the never-list of its family forbids is one.
    pub fn parse(name: &str, text: &str) -> Result<Dialect, Vec<DialectError>> {
        base::dialect(name, text, &OwnTexts::new())
    }

    /// Reads the user's dialect `name`, one of `own`, which may build on others of them. A base of
    /// the same name is the built-in one.
    pub fn of_user(name: &str, own: &OwnTexts) -> Result<Dialect, Vec<DialectError>> {
        match own.get(name) {
            Some(Ok(text)) => base::dialect(name, text, own),
            Some(Err(unreadable)) => Err(vec![unreadable.clone()]),
            None => Err(vec![DialectError::at(name, None, "there is no such dialect")]),
        }
    }

    /// The name that the configuration knows it by.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The built-in dialect that it is or builds on, if it does; by that simulated equipment is
    /// chosen.
    pub fn root(&self) -> Option<&'static str> {
        self.root
    }

    /// The wire family that it belongs to.
    pub fn family(&self) -> Family {
        self.family
    }

    /// The line's settings, where the configuration says nothing else.
    pub fn line(&self) -> LineSettings {
        self.line
    }

    /// The radio's tuning step.
    pub fn step(&self) -> Hertz {
        self.step
    }

    /// How finely a rotator can be aimed, degrees.
    pub fn resolution(&self) -> f64 {
        self.resolution
    }

    /// Whether the radio takes a frequency while it transmits.
    pub fn tunes_while_transmitting(&self) -> bool {
        self.tunes_while_transmitting
    }

    /// The bus address that the dialect file itself names.
    pub fn address(&self) -> Option<u8> {
        self.address
    }

    /// What a refusal looks like.
    pub(crate) fn refused(&self) -> &[Template] {
        &self.refused
    }

    /// What the device may send unasked.
    pub(crate) fn unasked(&self) -> &[Template] {
        &self.unasked
    }

    /// Whether there is an exchange for `verb` (`do.rx_hz`, `ask.aim`).
    pub fn can(&self, verb: &str) -> bool {
        self.verbs.contains_key(verb)
    }

    /// The fields that `verb` takes its values from: `az`, `el`, `ph`, `pv`.
    pub fn needs(&self, verb: &str) -> Vec<&'static str> {
        let frames = self.verbs.get(verb).into_iter().flat_map(|verb| verb.send.iter().chain(&verb.finally));
        let mut fields: Vec<&str> = frames.flat_map(Template::fields).collect();
        fields.sort_unstable();
        fields.dedup();
        fields
    }

    /// Where one of `verbs` stands in the file; if the base has them all, where a table stands that
    /// they take their codes from.
    fn place_of(&self, verbs: &[&str]) -> Place {
        let own = verbs.iter().find_map(|verb| self.verbs.get(*verb)?.place);
        let mut fields = verbs.iter().flat_map(|verb| self.needs(verb));
        own.or_else(|| fields.find_map(|field| self.tables.of(Kind::of(field)?.1)?.place))
    }

    /// Every ability, sorted.
    pub fn verbs(&self) -> impl Iterator<Item = &str> {
        self.verbs.keys().map(String::as_str)
    }

    /// The steps that prepare the radio, in order: `do.X` does each; where there is an `ask.X` of
    /// the same name, its answer fits only once X is done.
    pub fn preparation(&self, arrangement: Arrangement) -> &[String] {
        match arrangement {
            Arrangement::Single => &self.prepare.single,
            Arrangement::Split => &self.prepare.split,
            Arrangement::Duplex => &self.prepare.duplex,
        }
    }

    /// The modes that have a code.
    pub fn modes(&self) -> Vec<Mode> {
        let values = self.tables.mode.iter().flat_map(table::Table::values);
        let mode = |value| if let Value::Mode(mode) = value { Some(mode) } else { None };
        let mut modes: Vec<Mode> = values.filter_map(mode).collect();
        modes.dedup();
        modes
    }

    /// The tones that the radio can send; every tone of the standard where it takes a number.
    pub fn tones(&self) -> Vec<Tone> {
        let Some(table) = &self.tables.tone else { return Tone::all().collect() };
        let tone = |value| if let Value::Tone(tone) = value { Some(tone) } else { None };
        table.values().filter_map(tone).collect()
    }

    /// The frequency nearest to `wanted` that `verb` can set: on the dial's step, and not one of
    /// the few whose bytes the guard avoids (`family` says why). Check the licence *after* this.
    pub fn settable(&self, verb: &str, wanted: Hertz) -> Hertz {
        let nearest = wanted.to_step(self.step);
        let step = self.step.0.max(1);
        let fits = |hertz: &Hertz| {
            let exchange = self.exchange(verb, &Values::of_hertz(*hertz), self.address.or(Some(0x01)));
            exchange.is_ok_and(|exchange| exchange.forbidden(self.family).is_none())
        };
        let around = (0..4).flat_map(|i| [nearest + Hertz(i * step), nearest - Hertz(i * step)]);
        around.into_iter().find(fits).unwrap_or(nearest)
    }

    /// What a device would say at the end of `verb`: its answer, or its acknowledgement where the
    /// language has one. `None` if it says nothing, or `values` don't hold what it says.
    pub fn answer(&self, verb: &str, values: &Values, address: Option<u8>) -> Option<Specimen> {
        let known = self.verbs.get(verb)?;
        let forms = if known.answer.is_empty() { &self.acknowledged } else { &known.answer };
        let content = forms.first()?.specimen(&|name| undirected(values, name))?;
        Some(self.family.wrap_answer(content, address.or(self.address)))
    }

    /// Encodes `verb` with `values`. In `do.rx_*`, `do.tx_*` and `do.other_*` the plain field (`hz`)
    /// may also be given with its dial (`rx_hz`). `address` is the device's on a shared bus.
    pub fn exchange(
        &self,
        verb: &str,
        values: &Values,
        address: Option<u8>,
    ) -> Result<Exchange, EncodeError> {
        let known = self.verbs.get(verb);
        let known =
            known.ok_or_else(|| EncodeError::Unable { verb: verb.into(), dialect: self.name.clone() })?;
        let address = address.or(self.address);
        let prefix = DIALS.into_iter().find(|prefix| verb.starts_with(&format!("do.{prefix}")));
        let look_up = |name: &str| {
            let directed = || values.get(&format!("{}{name}", prefix?));
            values.get(name).or_else(directed)
        };
        let step = |template: &Template, answer: &Arc<[Template]>| {
            let mut content = Vec::with_capacity(20);
            template.encode(&look_up, &mut content)?;
            let frame = self.family.wrap(content, address).ok_or(EncodeError::NoAddress)?;
            let answer = if answer.is_empty() { Expect::Nothing } else { Expect::Answer(Arc::clone(answer)) };
            Ok(Step { frame, answer })
        };
        let last = known.send.len().saturating_sub(1);
        let own = |i: usize| i == last && !known.answer.is_empty();
        let answer_to = |i: usize| if own(i) { &known.answer } else { &self.acknowledged };
        let steps = known.send.iter().enumerate().map(|(i, template)| step(template, answer_to(i)));
        let finally = known.finally.iter().map(|template| step(template, &self.acknowledged));
        Ok(Exchange {
            verb: verb.to_owned(),
            address: if self.family.is_addressed() { address } else { None },
            steps: steps.collect::<Result<_, _>>()?,
            finally: finally.collect::<Result<_, _>>()?,
            refused: Arc::clone(&self.refused),
        })
    }
}

/// A field's value under its own name or that of a dial in one direction.
fn undirected(values: &Values, name: &str) -> Option<Value> {
    let plain = DIALS.into_iter().find_map(|prefix| name.strip_prefix(prefix));
    values.get(name).or_else(|| values.get(plain?))
}
