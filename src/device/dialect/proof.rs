//! The proof of a dialect: everything that it can set is encoded, over the whole range of values,
//! and read again, both from the command itself and from the answer to the matching question.

use super::super::values::{Value, Values};
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

/// What the proof found, in words.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Proof {
    /// Values that would not be set, or not be read, as they are meant.
    pub faults: Vec<String>,
    /// What the language can't say at all.
    pub limits: Vec<String>,
    /// How many values went out and came back.
    pub tried: usize,
}

/// What came of reading something that was not what it meant.
#[derive(Debug)]
enum Misread {
    NotAtAll,
    As(String),
}

impl std::fmt::Display for Misread {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Misread::NotAtAll => "nothing",
            Misread::As(read) => read,
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
        let failures: Vec<String> =
            all.iter().filter_map(|values| self.set_and_read(verb, values).err()).collect();
        proof.tried += all.len() - failures.len();
        if let Some(first) = failures.first() {
            let others = failures.len() - 1;
            let more = if others > 0 { format!(", and so do {others} more") } else { String::new() };
            proof.faults.push(format!("{verb}: this {what} fails{more}: {first}"));
        }
    }

    fn set_and_read(&self, verb: &str, values: &Values) -> Result<(), String> {
        if !self.can_say(verb, values) {
            return Err(format!("{} can't be sent", shown(values)));
        }
        let Some(exchange) = self.verbs.get(verb) else { return Ok(()) };
        let carriers = exchange.send.iter().filter(|template| !template.fields().is_empty());
        let question = self.verbs.get(&verb.replacen("do.", "ask.", 1));
        let forms: Vec<&Template> = question.iter().flat_map(|question| question.answer.iter()).collect();
        for template in carriers {
            self.reads_as_written(&[template], template, values)
                .map_err(|read| format!("{} would be set as {read}", shown(values)))?;
            // Where an answer looks like the command, both mean the same.
            match self.reads_as_written(&forms, template, values) {
                Err(Misread::As(read)) => {
                    return Err(format!("{} as it is set would be read as {read}", shown(values)));
                }
                Err(Misread::NotAtAll) | Ok(()) => {}
            }
        }
        for form in &forms {
            self.reads_as_written(&forms, form, values)
                .map_err(|read| format!("{} would be read as {read}", shown(values)))?;
        }
        Ok(())
    }

    /// Writes `form` and reads it by the first of `forms` that fits, as a conversation does; what
    /// was read instead, if that is something else.
    fn reads_as_written(&self, forms: &[&Template], form: &Template, values: &Values) -> Result<(), Misread> {
        let look_up = |name: &str| undirected(values, name).or(Some(Value::Number(0.0)));
        let specimen = form.specimen(&look_up).ok_or(Misread::NotAtAll)?;
        let bytes = filled(&specimen, self.family.style());
        let read = forms.iter().find_map(|form| form.decode(&bytes)).ok_or(Misread::NotAtAll)?;
        let wrong = read.iter().find(|(field, value)| {
            undirected(values, field).is_some_and(|meant| !self.are_alike(meant, *value))
        });
        wrong.map_or(Ok(()), |(field, value)| Err(Misread::As(shown(&Values::new().with(field, value)))))
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
