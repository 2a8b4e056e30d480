//! The flight record: what happened in one session, in the order in which it happened, as lines of
//! JSON in a file of its own. Here is its form, the reader that forgives a torn end, the writer that
//! never holds anybody up, and the folder. What an entry's inner values mean is known to `daemon`.

mod bytes;
mod entry;
mod folder;
mod moments;
mod reader;
mod writer;

pub use bytes::{from_text, to_text};
pub use entry::{
    Act, Came, Decision, Entry, Head, LineHead, Look, Order, Pause, SessionMemo, Stamp, Step, Told,
};
pub use folder::{Found, Records};
pub use moments::{Nanos, Origin, TimeStep};
pub use reader::{Damage, Record, read, read_file};
pub use writer::{Limits, Recorder, Trouble, Writing};

/// The form that this version writes and reads.
pub const FORMAT: u32 = 1;
