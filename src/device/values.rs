//! What a command carries and what an answer says: a small map from field name to value.

use crate::terms::{Hertz, Mode, Tone};

/// What a field holds; its name decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Hertz,
    Mode,
    Tone,
    Number,
    Flag,
}

/// Every field that a template may name. `az`, `el`: degrees; `ph`, `pv`: a controller's pulses
/// per degree; `signal`: the meter in the radio's own units.
const FIELDS: [(&str, Kind); 19] = [
    ("hz", Kind::Hertz),
    ("rx_hz", Kind::Hertz),
    ("tx_hz", Kind::Hertz),
    ("other_hz", Kind::Hertz),
    ("mode", Kind::Mode),
    ("rx_mode", Kind::Mode),
    ("tx_mode", Kind::Mode),
    ("other_mode", Kind::Mode),
    ("tone", Kind::Tone),
    ("tx_tone", Kind::Tone),
    ("az", Kind::Number),
    ("el", Kind::Number),
    ("ph", Kind::Number),
    ("pv", Kind::Number),
    ("signal", Kind::Number),
    ("transmitting", Kind::Flag),
    ("squelch_open", Kind::Flag),
    ("tone_on", Kind::Flag),
    ("split", Kind::Flag),
];

impl Kind {
    /// The kind of the field `name`, and the name with a life-long borrow.
    pub(crate) fn of(name: &str) -> Option<(&'static str, Kind)> {
        FIELDS.into_iter().find(|(field, _)| *field == name)
    }

    /// Every field's name, for messages.
    pub(crate) fn names() -> String {
        FIELDS.map(|(field, _)| field).join(", ")
    }

    /// `number` as this kind; `None` where the kind has no such value.
    pub(crate) fn value(self, number: f64) -> Option<Value> {
        match self {
            Kind::Hertz => Some(Value::Hertz(Hertz::rounded(number))),
            Kind::Tone => Tone::try_from((number * 10.0).round() / 10.0).ok().map(Value::Tone),
            Kind::Number => Some(Value::Number(number)),
            Kind::Flag if number == 0.0 => Some(Value::Flag(false)),
            Kind::Flag if number == 1.0 => Some(Value::Flag(true)),
            Kind::Mode | Kind::Flag => None,
        }
    }
}

/// One field's value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Value {
    /// A frequency.
    Hertz(Hertz),
    /// A mode.
    Mode(Mode),
    /// An access tone.
    Tone(Tone),
    /// Degrees, or a reading in the device's own units.
    Number(f64),
    /// Yes or no.
    Flag(bool),
}

impl Value {
    /// The value as a number: hertz, degrees, 0 or 1; a mode has none.
    pub(crate) fn number(self) -> Option<f64> {
        match self {
            Value::Hertz(hertz) => Some(hertz.as_f64()),
            Value::Tone(tone) => Some(f64::from(tone)),
            Value::Number(number) => Some(number),
            Value::Flag(flag) => Some(f64::from(u8::from(flag))),
            Value::Mode(_) => None,
        }
    }
}

/// Fields by name: `hz`, `rx_hz`, `tx_hz`, `other_hz`, `mode`, `rx_mode`, `tx_mode`, `other_mode`,
/// `tone`, `tx_tone`, `az`, `el`, `ph`, `pv`, `signal`, `transmitting`, `squelch_open`, `tone_on`,
/// `split`.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Values(Vec<(&'static str, Value)>);

impl Values {
    /// Nothing.
    pub fn new() -> Self {
        Self::default()
    }

    /// With a frequency in `hz`.
    pub fn of_hertz(hertz: Hertz) -> Self {
        Self::new().with("hz", Value::Hertz(hertz))
    }

    /// With a mode in `mode`.
    pub fn of_mode(mode: Mode) -> Self {
        Self::new().with("mode", Value::Mode(mode))
    }

    /// With a tone in `tone`.
    pub fn of_tone(tone: Tone) -> Self {
        Self::new().with("tone", Value::Tone(tone))
    }

    /// With a direction in `az` and `el`, degrees.
    pub fn of_direction(azimuth: f64, elevation: f64) -> Self {
        Self::new().with("az", Value::Number(azimuth)).with("el", Value::Number(elevation))
    }

    /// The same, with the field `name` set or replaced; a name that is no field is left out.
    pub fn with(mut self, name: &str, value: Value) -> Self {
        if let Some((field, _)) = Kind::of(name) {
            self.0.retain(|(known, _)| *known != field);
            self.0.push((field, value));
        }
        self
    }

    /// The value of a field.
    pub fn get(&self, name: &str) -> Option<Value> {
        self.0.iter().find(|(field, _)| *field == name).map(|(_, value)| *value)
    }

    /// A frequency.
    pub fn hertz(&self, name: &str) -> Option<Hertz> {
        match self.get(name)? {
            Value::Hertz(hertz) => Some(hertz),
            _ => None,
        }
    }

    /// A mode.
    pub fn mode(&self, name: &str) -> Option<Mode> {
        match self.get(name)? {
            Value::Mode(mode) => Some(mode),
            _ => None,
        }
    }

    /// A tone.
    pub fn tone(&self, name: &str) -> Option<Tone> {
        match self.get(name)? {
            Value::Tone(tone) => Some(tone),
            _ => None,
        }
    }

    /// Degrees, or a reading in the device's own units.
    pub fn number(&self, name: &str) -> Option<f64> {
        match self.get(name)? {
            Value::Number(number) => Some(number),
            _ => None,
        }
    }

    /// Yes or no.
    pub fn flag(&self, name: &str) -> Option<bool> {
        match self.get(name)? {
            Value::Flag(flag) => Some(flag),
            _ => None,
        }
    }

    /// Whether there is nothing.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Every field and its value.
    pub fn iter(&self) -> impl Iterator<Item = (&'static str, Value)> {
        self.0.iter().copied()
    }
}
