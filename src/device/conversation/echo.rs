//! Some interfaces send back what is written. Exactly what was sent is taken off, in the order in
//! which it was sent; whether the interface does so is learnt from the line.

use std::collections::VecDeque;

use serde::{Deserialize, Serialize};

/// So many frames may be on their way back.
const OUTSTANDING: usize = 8;

/// What is known of the interface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
enum Habit {
    Unknown,
    Silent,
    Echoes,
}

/// What a byte turned out to be.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Came {
    /// It may be echo: it is kept until that is known.
    Held,
    /// The last byte of a frame of this length that came back whole.
    Echo(usize),
    /// These are no echo: what was held, and the byte.
    Bytes(Vec<u8>),
}

/// Watches for what was written to come back.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Echo {
    habit: Habit,
    sent: VecDeque<Vec<u8>>,
    held: Vec<u8>,
}

impl Echo {
    pub(super) fn new() -> Self {
        Self { habit: Habit::Unknown, sent: VecDeque::new(), held: Vec::new() }
    }

    /// A frame was written. `short_answer`: a good answer may be one byte, which can't be told
    /// from the beginning of an echo; it is not kept waiting where no echo came before. Returns
    /// what was held and is no echo.
    pub(super) fn sent(&mut self, frame: &[u8], short_answer: bool) -> Vec<u8> {
        let mut released = Vec::new();
        if self.habit != Habit::Echoes || self.sent.len() >= OUTSTANDING {
            released = self.lapse();
        }
        if self.habit != Habit::Silent || !short_answer {
            self.sent.push_back(frame.to_vec());
        }
        released
    }

    /// Nothing more is expected back: returns what was held.
    pub(super) fn lapse(&mut self) -> Vec<u8> {
        self.sent.clear();
        std::mem::take(&mut self.held)
    }

    /// What was learnt is in doubt: an answer was missing, or the line was opened.
    pub(super) fn forget(&mut self) {
        self.habit = Habit::Unknown;
    }

    pub(super) fn hear(&mut self, byte: u8) -> Came {
        let Some(frame) = self.sent.front() else { return Came::Bytes(vec![byte]) };
        if frame.get(self.held.len()) == Some(&byte) {
            self.held.push(byte);
            if self.held.len() < frame.len() {
                return Came::Held;
            }
            self.habit = Habit::Echoes;
            self.sent.pop_front();
            return Came::Echo(std::mem::take(&mut self.held).len());
        }
        let begins_anew = !self.held.is_empty() && frame.first() == Some(&byte);
        let mut bytes = std::mem::take(&mut self.held);
        if begins_anew {
            self.held.push(byte);
            return Came::Bytes(bytes);
        }
        // Between two echoes a device may speak; within one something was lost.
        if self.habit != Habit::Echoes || !bytes.is_empty() {
            self.sent.pop_front();
        }
        if self.habit == Habit::Unknown {
            self.habit = Habit::Silent;
        }
        bytes.push(byte);
        Came::Bytes(bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is left of `bytes` once the echo is off, and how many echoes there were.
    fn left(echo: &mut Echo, bytes: &[u8]) -> (Vec<u8>, usize) {
        let (mut left, mut echoes) = (Vec::new(), 0);
        for byte in bytes {
            match echo.hear(*byte) {
                Came::Held => {}
                Came::Echo(_) => echoes += 1,
                Came::Bytes(bytes) => left.extend(bytes),
            }
        }
        (left, echoes)
    }

    #[test]
    fn exactly_what_was_sent_is_taken_off_in_order() {
        let mut echo = Echo::new();
        echo.sent(b"AZ EL\r", false);
        assert_eq!(left(&mut echo, b"AZ EL\rAZ10.0 EL5.0\r\n"), (b"AZ10.0 EL5.0\r\n".to_vec(), 1));
        echo.sent(b"AZ180.0 EL45.0\r", false);
        echo.sent(b"AZ EL\r", false);
        let line = b"AZ180.0 EL45.0\rAZ EL\rAZ11.0 EL5.0\r\n";
        assert_eq!(left(&mut echo, line), (b"AZ11.0 EL5.0\r\n".to_vec(), 2));
    }

    #[test]
    fn an_answer_that_begins_like_the_question_is_no_echo() {
        let mut echo = Echo::new();
        echo.sent(b"FA;", false);
        assert_eq!(left(&mut echo, b"FA00145950000;"), (b"FA00145950000;".to_vec(), 0));
        // A set that did not come back is no echo later, when its value is read.
        echo.sent(b"FA00145950000;", false);
        echo.sent(b"FA;", false);
        assert_eq!(left(&mut echo, b"FA00145950000;"), (b"FA00145950000;".to_vec(), 0));
    }

    #[test]
    fn a_byte_that_may_be_the_answer_waits_only_until_the_habit_is_known() {
        let mut echo = Echo::new();
        echo.sent(&[0, 0, 0, 0, 7], true);
        assert_eq!(echo.hear(0), Came::Held);
        assert_eq!(echo.lapse(), [0]);
        echo.sent(&[0, 0, 0, 0, 3], false);
        assert_eq!(left(&mut echo, &[0x14, 0x59, 0x50, 0, 8]).0, [0x14, 0x59, 0x50, 0, 8]);
        echo.sent(&[0, 0, 0, 0, 7], true);
        assert_eq!(echo.hear(0), Came::Bytes(vec![0]));
    }

    #[test]
    fn an_echo_that_lost_a_byte_is_passed_on_and_the_next_is_taken_off() {
        let mut echo = Echo::new();
        echo.sent(b"FA;", false);
        left(&mut echo, b"FA;");
        echo.sent(b"FA00145950000;", false);
        echo.sent(b"FB;", false);
        assert_eq!(left(&mut echo, b"FA0014595000;FB;"), (b"FA0014595000;".to_vec(), 1));
    }
}
