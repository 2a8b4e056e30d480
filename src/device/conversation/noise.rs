//! How many bytes come in that fit nothing.

use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::super::symptoms::Fact;

/// Over which time they are counted.
const WINDOW: Duration = Duration::from_secs(1);
/// More a second than this are named; on a slow line, a quarter of what it can carry.
const LOUD: u32 = 100;
/// What an envelope adds to a frame at most, bytes.
const ENVELOPE: u32 = 6;
/// How many line ends may follow a frame.
const LINE_ENDS: u32 = 2;
/// So many bytes may still become a frame.
const LONGEST: u32 = 64;
/// How many bytes are kept to be shown.
const SAMPLE: usize = 9;

/// Counts bytes that no frame claims.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Noise {
    /// What the line can carry, bytes a second.
    capacity: u32,
    since: Duration,
    /// Unclaimed for good, in this window.
    stray: u32,
    /// Not claimed yet.
    pending: u32,
    /// Line ends that still belong to the last frame.
    line_ends: u32,
    recent: Vec<u8>,
    sample: Vec<u8>,
    /// Bytes a second in the window before.
    per_second: u32,
    loud: bool,
}

impl Noise {
    pub(super) fn new(byte_time: Duration) -> Self {
        Self {
            capacity: (1.0 / byte_time.as_secs_f64().max(1e-6)) as u32,
            since: Duration::ZERO,
            stray: 0,
            pending: 0,
            line_ends: 0,
            recent: Vec::new(),
            sample: Vec::new(),
            per_second: 0,
            loud: false,
        }
    }

    /// A byte came.
    pub(super) fn byte(&mut self, byte: u8) {
        if self.line_ends > 0 && matches!(byte, b'\r' | b'\n') {
            self.line_ends -= 1;
            return;
        }
        self.line_ends = 0;
        self.pending = self.pending.saturating_add(1);
        if self.recent.len() < SAMPLE {
            self.recent.push(byte);
        }
    }

    /// The last `length` bytes, and an envelope around them, were a frame that fits.
    pub(super) fn claimed(&mut self, length: usize) {
        let left = self.pending.saturating_sub(length as u32 + ENVELOPE);
        self.give_up(left);
        self.line_ends = LINE_ENDS;
    }

    /// How many bytes were not claimed since the last frame that fits.
    pub(super) fn pending(&self) -> usize {
        self.pending as usize
    }

    /// Forgets what was not claimed so far, but for its count in this window.
    pub(super) fn set_aside(&mut self) {
        self.give_up(self.pending);
    }

    /// Whether most of what the line can carry is noise.
    pub(super) fn is_flood(&self) -> bool {
        self.per_second > self.capacity / 2
    }

    /// What is to be known at the end of a window.
    pub(super) fn look(&mut self, now: Duration) -> Option<Fact> {
        let over = now.saturating_sub(self.since);
        if over < WINDOW {
            return None;
        }
        if self.pending > LONGEST {
            self.give_up(self.pending);
        }
        self.since = now;
        self.per_second = (f64::from(std::mem::take(&mut self.stray)) / over.as_secs_f64()) as u32;
        let was_loud = std::mem::replace(&mut self.loud, self.per_second > LOUD.min(self.capacity / 4));
        let sample = std::mem::take(&mut self.sample);
        match (was_loud, self.loud) {
            (_, true) => Some(Fact::Babble { per_second: self.per_second, sample }),
            (true, false) => Some(Fact::Quiet),
            (false, false) => None,
        }
    }

    fn give_up(&mut self, bytes: u32) {
        self.stray = self.stray.saturating_add(bytes);
        let recent = std::mem::take(&mut self.recent);
        if bytes > 0 && self.sample.is_empty() {
            self.sample = recent;
        }
        self.pending = 0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECOND: Duration = Duration::from_secs(1);

    /// 9600 baud, 8N1: 960 bytes a second.
    fn noise() -> Noise {
        Noise::new(SECOND / 960)
    }

    #[test]
    fn a_flood_is_told_once_a_second_and_its_end_once() {
        let mut noise = noise();
        assert_eq!(noise.look(SECOND), None);
        for second in 2..4 {
            (0..960).for_each(|_| noise.byte(0x8F));
            let sample = vec![0x8F; SAMPLE];
            assert_eq!(noise.look(second * SECOND), Some(Fact::Babble { per_second: 960, sample }));
            assert!(noise.is_flood());
        }
        assert_eq!(noise.look(4 * SECOND), Some(Fact::Quiet));
        assert_eq!(noise.look(5 * SECOND), None);
        assert!(!noise.is_flood());
    }

    #[test]
    fn a_busy_line_of_good_frames_is_no_noise() {
        let mut noise = noise();
        for _ in 0..68 {
            (0..14).for_each(|_| noise.byte(b'F'));
            noise.claimed(14);
        }
        assert_eq!(noise.look(SECOND), None);
    }

    #[test]
    fn on_a_slow_line_less_is_loud() {
        let mut noise = Noise::new(SECOND / 60);
        (0..60).for_each(|_| noise.byte(1));
        noise.set_aside();
        assert!(matches!(noise.look(SECOND), Some(Fact::Babble { per_second: 60, .. })));
    }
}
