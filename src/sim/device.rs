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

    /// What it decided to say since the last call, in the order of `at`.
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

/// A device's mouth: answers leave after some thinking, and in order.
#[derive(Debug)]
pub(super) struct Voice {
    thinking_s: f64,
    said: Vec<Utterance>,
    last: Option<Time>,
}

impl Voice {
    pub(super) fn new(thinking_s: f64) -> Self {
        Self { thinking_s, said: Vec::new(), last: None }
    }

    /// Answers what was heard in full at `at`.
    pub(super) fn answer(&mut self, bytes: impl Into<Vec<u8>>, at: Time) {
        self.announce(bytes, later(at, self.thinking_s));
    }

    /// Says something at `at`, or as soon as all that was said before has started.
    pub(super) fn announce(&mut self, bytes: impl Into<Vec<u8>>, at: Time) {
        let at = self.last.map_or(at, |last| last.max(at));
        self.last = Some(at);
        self.said.push(Utterance { at, bytes: bytes.into() });
    }

    pub(super) fn take(&mut self) -> Vec<Utterance> {
        std::mem::take(&mut self.said)
    }
}
