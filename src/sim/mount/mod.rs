//! Simulated mounts: motors that take their time, and the wire language of their controller.

mod motion;
mod rotator;
mod words;

pub use motion::Limits;
pub use rotator::{AxisSettings, MountSettings};
pub use words::{AnswerForm, Words, WordsSettings};
