//! The proof of a dialect: everything that it can set is encoded, over the whole range of values,
//! and read again, both from the command itself and from the answer to the matching question.
//! Where no question is there, or its answer has another form than the command, nothing tells
//! whether both mean the same: such a value is not proven.

use std::collections::BTreeMap;

use super::super::values::{Value, Values};
use super::fault::DialectError;
use super::template::specimen::filled;
use super::{Dialect, Template, undirected};
use crate::terms::{Hertz, Mode, Tone};

/// Amateur bands up to ten digits, kHz (IARU Region 1 band plans and their wider neighbours in
/// other regions, from memory).
const BANDS_KHZ: [(i64, i64); 17] = [
    (1_800, 2_000),
    (3_500, 4_000),
    (7_000, 7_300),
    (10_100, 10_150),
    (14_000, 14_350),
    (18_068, 18_168),
    (21_000, 21_450),
    (24_890, 24_990),
    (28_000, 29_700),
    (50_000, 54_000),
    (144_000, 148_000),
    (222_000, 225_000),
    (430_000, 450_000),
    (1_240_000, 1_300_000),
    (2_300_000, 2_450_000),
    (3_300_000, 3_500_000),
    (5_650_000, 5_925_000),
];

/// Frequencies tried in each band. They are spread so that every digit changes.
const TRIED_A_BAND: i64 = 241;

/// What the proof found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Proof {
    /// Values that would not be set, or not be read, as they are meant.
    pub faults: Vec<DialectError>,
    /// What the language can't say at all.
    pub limits: Vec<String>,
    /// How many values went out and came back as they were meant.
    pub proven: usize,
    /// How many could not be compared with an answer.
    pub unproven: usize,
    /// The commands that carry those, and why.
    pub doubts: BTreeMap<Doubt, Vec<String>>,
}

/// Why a command can't be compared with the answer that should say the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Doubt {
    /// The dialect has no question for what the command sets.
    NoQuestion,
    /// No form of the answer fits the command's own bytes.
    OtherForm,
}

impl std::fmt::Display for Doubt {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Doubt::NoQuestion => "there is no question that reads it",
            Doubt::OtherForm => "the answer has another form than the command",
        })
    }
}

impl Dialect {
    /// Proves every command that carries a value.
    pub fn proof(&self) -> Proof {
        let mut proof = Proof::default();
        for verb in self.verbs().filter(|verb| verb.starts_with("do.")) {
            let fields = self.needs(verb);
            let has = |field| fields.contains(&field);
            match () {
                () if has("hz") => self.prove_bands(verb, &mut proof),
                () if has("mode") => self.prove_all(verb, "mode", &modes(self), &mut proof),
                () if has("tone") => self.prove_all(verb, "tone", &tones(self), &mut proof),
                () if has("az") => self.prove_all(verb, "direction", &directions(self), &mut proof),
                () => {}
            }
        }
        proof.limits.extend(self.without_code());
        proof
    }

    fn prove_bands(&self, verb: &str, proof: &mut Proof) {
        let (mut all, mut missing) = (Vec::new(), Vec::new());
        for (from, to) in BANDS_KHZ {
            let spread = |i| Hertz(from * 1000 + (to - from) * 1000 * i / (TRIED_A_BAND - 1));
            let band: Vec<Values> = (0..TRIED_A_BAND)
                .map(|i| Values::of_hertz(self.settable(verb, spread(i))))
                .filter(|values| self.can_say(verb, values))
                .collect();
            if band.is_empty() {
                missing.push((from / 1000).to_string());
            }
            all.extend(band);
        }
        self.prove_all(verb, "frequency", &all, proof);
        if !missing.is_empty() {
            proof.limits.push(format!("{verb} can't set the bands from {} MHz", missing.join(", ")));
        }
    }

    fn can_say(&self, verb: &str, values: &Values) -> bool {
        let exchange = self.exchange(verb, values, self.address.or(Some(0x01)));
        exchange.is_ok_and(|exchange| exchange.forbidden(self.family).is_none())
    }

    /// The first value that fails is named, and how many do.
    fn prove_all(&self, verb: &str, what: &str, all: &[Values], proof: &mut Proof) {
        let mut failures = Vec::new();
        for values in all {
            match self.set_and_read(verb, values) {
                Ok(None) => proof.proven += 1,
                Ok(Some(doubt)) => {
                    proof.unproven += 1;
                    let verbs = proof.doubts.entry(doubt).or_default();
                    if verbs.last().is_none_or(|last| last != verb) {
                        verbs.push(verb.to_owned());
                    }
                }
                Err(failure) => failures.push(failure),
            }
        }
        if let Some(first) = failures.first() {
            let others = failures.len() - 1;
            let more = if others > 0 { format!(", and so do {others} more") } else { String::new() };
            let place = self.place_of(&[verb, &question_of(verb)]);
            let text = format!("{verb}: this {what} fails{more}: {first}");
            proof.faults.push(DialectError::at(&self.name, place, text));
        }
    }

    /// What is wrong with the way of `values` there and back, or why that can't be told.
    fn set_and_read(&self, verb: &str, values: &Values) -> Result<Option<Doubt>, String> {
        let meant = shown(values);
        if !self.can_say(verb, values) {
            return Err(format!("{meant} can't be sent"));
        }
        let question = self.verbs.get(&question_of(verb));
        let forms: Vec<&Template> = question.iter().flat_map(|question| question.answer.iter()).collect();
        let mut doubt = question.is_none().then_some(Doubt::NoQuestion);
        let sent = self.verbs.get(verb).into_iter().flat_map(|command| &command.send);
        for template in sent.filter(|template| !template.fields().is_empty()) {
            if let Some(read) = self.misread(self.read_back(&[template], template, values), values) {
                return Err(format!("{meant} would be set as {read}"));
            }
            // Where an answer looks like the command, both mean the same.
            match self.read_back(&forms, template, values).filter(|read| speaks_of(read, values)) {
                None => doubt = doubt.or(Some(Doubt::OtherForm)),
                read => {
                    if let Some(read) = self.misread(read, values) {
                        return Err(format!("{meant} as it is set would be read as {read}"));
                    }
                }
            }
        }
        let tells = |form: &Template| form.fields().iter().any(|field| undirected(values, field).is_some());
        for form in forms.iter().filter(|form| tells(form)) {
            let read = self.read_back(&forms, form, values).filter(|read| speaks_of(read, values));
            if let Some(read) = self.misread(read, values) {
                return Err(format!("{meant} would be read as {read}"));
            }
        }
        Ok(doubt)
    }

    /// Writes `form` and reads it by the first of `forms` that fits, as a conversation does.
    fn read_back(&self, forms: &[&Template], form: &Template, values: &Values) -> Option<Values> {
        let look_up = |name: &str| undirected(values, name).or(Some(Value::Number(0.0)));
        let bytes = filled(&form.specimen(&look_up)?, self.family.style());
        forms.iter().find_map(|form| form.decode(&bytes))
    }

    /// What was read instead of `values`, if that is something else.
    fn misread(&self, read: Option<Values>, values: &Values) -> Option<String> {
        let Some(read) = read else { return Some("nothing".to_owned()) };
        let wrong = read.iter().find(|(field, value)| {
            undirected(values, field).is_some_and(|meant| !self.are_alike(meant, *value))
        });
        wrong.map(|(field, value)| shown(&Values::new().with(field, value)))
    }

    /// Within one step of the dial, or what the rotator resolves.
    fn are_alike(&self, one: Value, other: Value) -> bool {
        match (one, other) {
            (Value::Hertz(one), Value::Hertz(other)) => (one.0 - other.0).abs() < self.step.0.max(1),
            (Value::Number(one), Value::Number(other)) => (one - other).abs() <= self.resolution + 1e-6,
            (one, other) => one == other,
        }
    }

    /// Modes and tones that the tables leave out.
    fn without_code(&self) -> Vec<String> {
        let needed = |field| self.verbs().any(|verb| self.needs(verb).contains(&field));
        let (modes, tones) = (self.modes(), self.tones());
        let modes = Mode::ALL.into_iter().filter(|mode| needed("mode") && !modes.contains(mode));
        let modes: Vec<String> = modes.map(|mode| mode.to_string()).collect();
        let tones = Tone::all().filter(|tone| needed("tone") && !tones.contains(tone));
        let tones: Vec<String> = tones.map(|tone| tone.to_string()).collect();
        [("modes", modes), ("tones", tones)]
            .into_iter()
            .filter(|(_, missing)| !missing.is_empty())
            .map(|(what, missing)| format!("no code for the {what} {}", missing.join(", ")))
            .collect()
    }
}

/// The question that reads what the command sets.
fn question_of(command: &str) -> String {
    command.replacen("do.", "ask.", 1)
}

/// Whether what was read says anything of what was meant.
fn speaks_of(read: &Values, meant: &Values) -> bool {
    read.iter().any(|(field, _)| undirected(meant, field).is_some())
}

fn modes(dialect: &Dialect) -> Vec<Values> {
    dialect.modes().into_iter().map(Values::of_mode).collect()
}

fn tones(dialect: &Dialect) -> Vec<Values> {
    dialect.tones().into_iter().map(Values::of_tone).collect()
}

/// All round, a quarter past the full turn, and over the top; with the pulses per degree that a
/// controller may name.
fn directions(dialect: &Dialect) -> Vec<Values> {
    let steps = |upto: f64| (0..).map(|i| f64::from(i) * 2.5).take_while(move |angle| *angle <= upto);
    let on_grid = |angle: f64| (angle / dialect.resolution()).round() * dialect.resolution();
    let grid = steps(450.0).flat_map(|az| steps(180.0).step_by(9).map(move |el| (az, el)));
    grid.flat_map(|(az, el)| {
        [1.0, 2.0, 4.0].map(|pulses| {
            let pulses = Value::Number(pulses);
            Values::of_direction(on_grid(az), on_grid(el)).with("ph", pulses).with("pv", pulses)
        })
    })
    .collect()
}

fn shown(values: &Values) -> String {
    let one = |(field, value)| match value {
        Value::Hertz(hertz) => hertz.to_string(),
        Value::Mode(mode) => mode.to_string(),
        Value::Tone(tone) => format!("{tone} Hz"),
        Value::Number(number) => format!("{field} {number}"),
        Value::Flag(flag) => format!("{field} {flag}"),
    };
    values.iter().map(one).collect::<Vec<_>>().join(", ")
}
