//! The scripted operator: the only one who may press a transmit key.

use std::sync::{Arc, Mutex};

use super::lock;
use crate::terms::{Hertz, Time};

/// Something that the operator does at the radio.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// Turns the knob of the receiving dial by so much, up or down.
    Turn(Hertz),
    /// Presses the transmit key.
    Press,
    /// Lets it go.
    Release,
}

/// What the operator will do and when; clones share the same, and acts can be added while the
/// radio runs. An act in the past is done at once.
#[derive(Debug, Clone, Default)]
pub struct Script(Arc<Mutex<Vec<(Time, Act)>>>);

impl Script {
    /// An operator who does nothing yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// At `at` the operator will do this, after what is already written for that instant.
    pub fn at(&self, at: Time, act: Act) {
        let mut acts = lock(&self.0);
        let place = acts.partition_point(|(other, _)| *other <= at);
        acts.insert(place, (at, act));
    }

    /// When the next act is due.
    pub fn next_event(&self) -> Option<Time> {
        lock(&self.0).first().map(|(at, _)| *at)
    }

    /// Takes the acts due by `now`, the earliest first.
    pub(super) fn take_due(&self, now: Time) -> Vec<(Time, Act)> {
        let mut acts = lock(&self.0);
        let due = acts.partition_point(|(at, _)| *at <= now);
        acts.drain(..due).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::{later, parse_time};

    #[test]
    fn acts_come_in_order_of_time_and_those_of_one_instant_as_written() {
        let start = parse_time("2026-11-25T18:30:00Z").unwrap();
        let script = Script::new();
        script.at(later(start, 2.0), Act::Press);
        script.at(later(start, 1.0), Act::Turn(Hertz(500)));
        script.at(later(start, 2.0), Act::Release);
        assert_eq!(script.next_event(), Some(later(start, 1.0)));
        let due: Vec<Act> = script.take_due(later(start, 2.0)).into_iter().map(|(_, act)| act).collect();
        assert_eq!(due, [Act::Turn(Hertz(500)), Act::Press, Act::Release]);
        assert_eq!(script.next_event(), None);
    }
}
