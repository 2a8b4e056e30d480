//! Simulated mounts: motors that take their time, and the wire language of their controller.

mod motion;
mod rotator;
mod text;
mod thirteen_byte;
mod w_lines;
mod words;

pub use motion::Limits;
pub use rotator::{AxisSettings, MountSettings};
pub use thirteen_byte::{ThirteenByte, ThirteenByteSettings};
pub use w_lines::{WAnswer, WLines, WLinesSettings};
pub use words::{AnswerForm, Words, WordsSettings};
