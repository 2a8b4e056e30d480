//! What goes into a conversation and what comes out of it.

use std::sync::Arc;
use std::time::Duration;

use super::super::dialect::Dialect;
use super::super::symptoms::Fact;
use super::super::values::Values;

/// What a conversation has to know of its line.
#[derive(Debug, Clone)]
pub struct ConversationSettings {
    /// How long one byte is on the wire.
    pub byte_time: Duration,
    /// How long an answer may take to begin, counted from when the question has left.
    pub answer: Duration,
    /// The line's speed, for people.
    pub baud: u32,
    /// Who is on the line: each device's bus address, and its dialect.
    pub devices: Vec<(Option<u8>, Arc<Dialect>)>,
}

impl ConversationSettings {
    /// For one device, with its dialect's own line settings and no echo.
    pub fn of(dialect: &Arc<Dialect>, address: Option<u8>) -> Self {
        let line = dialect.line();
        Self {
            byte_time: line.byte_time(),
            answer: line.answer,
            baud: line.baud,
            devices: vec![(address.or(dialect.address()), Arc::clone(dialect))],
        }
    }
}

/// What happened on the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Input<'a> {
    /// Bytes came in.
    Bytes(&'a [u8]),
    /// Nothing; only time went by.
    Time,
    /// The line was opened, failed, or did not take a whole frame.
    Trouble,
}

/// What is to be done, or to be known.
#[derive(Debug, Clone, PartialEq)]
pub enum Output {
    /// Write this frame, whole, now.
    Write(Vec<u8>),
    /// The exchange is over.
    Done(Outcome),
    /// A device said something by itself: its knob was turned.
    Unasked {
        /// The device's address on a bus.
        address: Option<u8>,
        /// What it said.
        values: Values,
    },
    /// Something was seen that the status should say.
    Noticed(Fact),
    /// A refusal came when none was waited for: it belongs to a silent command sent shortly before.
    Refused(String),
}

/// How an exchange ended. Whatever it was, its `finally` frames have been sent too if anything was.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// All was sent and every answer came; these were the readings.
    Done(Values),
    /// The device refused, with this text.
    Refused(String),
    /// No answer came in time. The device may or may not have done it.
    NoAnswer,
    /// Something came instead of the answer: its bytes without the envelope.
    NotUnderstood(Vec<u8>),
    /// The guard did not let it pass, for this reason.
    Forbidden(String),
    /// It could not be sent while it was still fresh.
    TooLate,
}

/// An exchange that can't begin now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BeginError {
    /// Another one is being played.
    #[error("another exchange is still being played on this line")]
    Busy,
    /// The line stays silent until then.
    #[error("the line stays silent until {0:?} on its clock")]
    NotReady(Duration),
}
