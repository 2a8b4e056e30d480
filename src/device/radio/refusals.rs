//! Dials whose commands are refused again and again: they are tried less and less often.

use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::terms::Direction;

use super::RETRY;

/// The longest pause, in multiples of the first one.
const LONGEST: u32 = 10;

/// Refusals in a row, and until when a dial waits, monotonic.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
struct Dial {
    times: u32,
    until: Duration,
}

/// After a pause the next try is made within this time, monotonic: a later refusal is another one.
const IN_A_ROW: Duration = Duration::from_secs(3);

/// Both dials.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub(super) struct Refusals {
    /// The dial that the last command was for.
    last: Option<Direction>,
    receive: Dial,
    transmit: Dial,
}

impl Refusals {
    fn dial(&mut self, direction: Direction) -> &mut Dial {
        match direction {
            Direction::Receive => &mut self.receive,
            Direction::Transmit => &mut self.transmit,
        }
    }

    /// A dial was refused.
    pub(super) fn count(&mut self, direction: Option<Direction>, now: Duration) {
        if let Some(dial) = direction.map(|direction| self.dial(direction)) {
            let in_a_row = dial.times > 0 && now <= dial.until + IN_A_ROW;
            dial.times = if in_a_row { (dial.times * 2).min(LONGEST) } else { 1 };
            dial.until = now + RETRY * dial.times;
        }
    }

    /// A command has left, for this dial or for something else.
    pub(super) fn said(&mut self, direction: Option<Direction>) {
        self.last = direction;
    }

    /// The last command was refused after it had counted as done.
    pub(super) fn count_last(&mut self, now: Duration) {
        self.count(self.last, now);
    }

    /// Whether a dial waits.
    pub(super) fn hold_back(&self, direction: Direction, now: Duration) -> bool {
        let dial = match direction {
            Direction::Receive => self.receive,
            Direction::Transmit => self.transmit,
        };
        now < dial.until
    }
}
