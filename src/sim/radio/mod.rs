//! Simulated radios: one model of the thing itself, and the wire languages spoken by it.

mod decimal;
pub mod five_byte;
pub mod frames;
mod meter;
mod panel;
pub mod semicolon;
mod tones;
mod transceiver;

pub use meter::{Arrives, Range, SignalSource};
pub use panel::{DialError, Offsets, Vfo};
pub use tones::ToneTable;
pub use transceiver::RadioSettings;

use panel::Panel;
use transceiver::Transceiver;

/// What a radio makes of one command.
enum Reply {
    /// Done, and nothing to say about it.
    Done,
    /// The answer's bytes, without the language's framing.
    Answer(Vec<u8>),
    /// Wrong, or not now.
    Refused,
}

/// Done if it could be.
impl From<Option<()>> for Reply {
    fn from(done: Option<()>) -> Self {
        done.map_or(Reply::Refused, |()| Reply::Done)
    }
}
