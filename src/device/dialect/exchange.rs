//! One exchange: the frames of a command or question, and what is expected back.

use std::sync::Arc;

use super::super::family::{Family, Guard, Verdict};
use super::super::values::Value;
use super::template::Template;

/// What is expected after a frame.
#[derive(Debug, Clone, PartialEq)]
pub enum Expect {
    /// A good command of this language is silent.
    Nothing,
    /// An acknowledgement or an answer that fits one of these.
    Answer(Arc<[Template]>),
}

/// One frame, complete as it goes on the wire, and its answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The bytes.
    pub frame: Vec<u8>,
    /// What should come back.
    pub answer: Expect,
}

/// A command or a question. It is played as a whole: nothing comes between its steps, and
/// `finally` runs also after a refusal or a missing answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Exchange {
    /// The ability that it was made for: `do.rx_hz`.
    pub verb: String,
    /// The device's address on a shared bus.
    pub address: Option<u8>,
    /// In this order; the first that fails ends them.
    pub steps: Vec<Step>,
    /// Afterwards, in any case.
    pub finally: Vec<Step>,
    /// What a refusal looks like.
    pub(crate) refused: Arc<[Template]>,
}

impl Exchange {
    /// Every frame, in order.
    pub fn frames(&self) -> impl Iterator<Item = &[u8]> {
        self.steps.iter().chain(&self.finally).map(|step| step.frame.as_slice())
    }

    /// How many bytes it writes.
    pub fn bytes(&self) -> usize {
        self.frames().map(<[u8]>::len).sum()
    }

    /// How many of its frames are answered.
    pub fn answers(&self) -> usize {
        self.steps.iter().chain(&self.finally).filter(|step| step.answer != Expect::Nothing).count()
    }

    /// Why the never-list of `family` forbids one of the frames even to a device that is known to
    /// be in step; `None` if it forbids none.
    pub fn forbidden(&self, family: Family) -> Option<String> {
        self.frames().find_map(|frame| match Guard::in_step(family).verdict(frame) {
            Verdict::Forbidden(reason) => Some(reason),
            Verdict::Allowed | Verdict::NeedsProof => None,
        })
    }
}

/// A command that can't be encoded.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EncodeError {
    /// The dialect has no such exchange.
    #[error("dialect {dialect} has no {verb}")]
    Unable {
        /// The ability asked for.
        verb: String,
        /// The dialect's name.
        dialect: String,
    },
    /// A field of the template was not given.
    #[error("\"{template}\" needs {field}, which is not known")]
    Missing {
        /// The field.
        field: &'static str,
        /// The template.
        template: String,
    },
    /// The value is out of the form's range.
    #[error("{field} = {value} does not fit \"{template}\"")]
    DoesNotFit {
        /// The field.
        field: &'static str,
        /// Its value.
        value: f64,
        /// The template.
        template: String,
    },
    /// The table has no code for the value.
    #[error("the dialect's table has no code for {}", shown(*.value))]
    NoCode {
        /// The value.
        value: Value,
    },
    /// The template can only be matched.
    #[error("\"{template}\" can be read but not written")]
    OnlyRead {
        /// The template.
        template: String,
    },
    /// The language addresses devices, and none was given.
    #[error("the device's bus address is not known: set `address` at the device")]
    NoAddress,
}

fn shown(value: Value) -> String {
    match value {
        Value::Mode(mode) => mode.to_string(),
        Value::Tone(tone) => format!("{tone} Hz"),
        other => format!("{other:?}"),
    }
}
