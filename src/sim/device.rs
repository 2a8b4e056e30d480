//! What a simulated piece of equipment is to the wire in front of it.

use super::{Faults, Record, Script};
use crate::terms::{Time, later};

/// A thing with a serial port: it hears bytes and says some, in plan time. No I/O, no clock.
pub trait Device: Send {
    /// One byte has arrived in full. Times never run backwards.
    fn hear(&mut self, byte: u8, at: Time);

    /// Time has come to `now`: motors turn, the operator acts.
    fn advance(&mut self, now: Time);

    /// When the device will next do something of its own accord; after `advance(now)` it is
    /// later than `now`.
    fn next_event(&self) -> Option<Time>;

    /// What it decided to say since the last call; the wire carries it in the order of `at`.
    fn say(&mut self) -> Vec<Utterance>;

    /// The strings that a test may pull, and the record that it may read.
    fn handles(&self) -> &Handles;
}

/// Bytes that a device sends in one go.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Utterance {
    /// When the first byte starts.
    pub at: Time,
    /// The bytes.
    pub bytes: Vec<u8>,
}

/// What the world outside shares with one running device; clones share the same.
#[derive(Debug, Clone, Default)]
pub struct Handles {
    /// What happened at the far end.
    pub record: Record,
    /// What is broken.
    pub faults: Faults,
    /// What the operator will do.
    pub script: Script,
}

/// A device's mouth: answers leave after some thinking and in order, reports at once.
#[derive(Debug)]
pub(super) struct Voice {
    thinking_s: f64,
    said: Vec<Utterance>,
    last_answer: Option<Time>,
}

impl Voice {
    pub(super) fn new(thinking_s: f64) -> Self {
        Self { thinking_s, said: Vec::new(), last_answer: None }
    }

    /// Answers what was heard in full at `at`.
    pub(super) fn answer(&mut self, bytes: impl Into<Vec<u8>>, at: Time) {
        let thought = later(at, self.thinking_s);
        let at = self.last_answer.map_or(thought, |last| last.max(thought));
        self.last_answer = Some(at);
        self.announce(bytes, at);
    }

    /// Says something unasked at `at`, even before an answer that is being thought about.
    pub(super) fn announce(&mut self, bytes: impl Into<Vec<u8>>, at: Time) {
        self.said.push(Utterance { at, bytes: bytes.into() });
    }

    pub(super) fn take(&mut self) -> Vec<Utterance> {
        std::mem::take(&mut self.said)
    }
}
