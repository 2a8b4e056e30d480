//! From bytes as they come in to whole frames: byte by byte, so that it can't matter how the
//! line cut them. Buffers are bounded, and garbage ends with the next frame's start.

use serde::{Deserialize, Serialize};

use super::{CONTROLLER, Family, Style};

/// The longest frame of any family is 38 bytes.
const LONGEST: usize = 64;

/// Something whole that came in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Heard {
    /// A frame without its envelope. On a bus, from a device to us or (`to_all`) to everybody.
    Frame { from: Option<u8>, to_all: bool, content: Vec<u8> },
    /// A frame of so many bytes that is not for us: our own echo, or what others say to each other.
    Passing { length: usize },
    /// Two stations of a bus talked at once.
    Collision,
}

/// Collects bytes into frames.
#[derive(Debug, Serialize, Deserialize)]
pub(crate) struct Framer {
    family: Family,
    buffer: Vec<u8>,
    /// FE bytes seen in front of a bus frame.
    preamble: u8,
    /// How many bytes the answer has, where only counting tells; nothing is kept otherwise.
    expected: usize,
}

impl Framer {
    pub(crate) fn new(family: Family) -> Self {
        Self { family, buffer: Vec::new(), preamble: 0, expected: 0 }
    }

    /// A question has been asked whose answer has so many bytes. What came before it is dropped
    /// where only counting tells; elsewhere half a frame may still be completed.
    pub(crate) fn expect(&mut self, bytes: usize) {
        if self.family.counts_bytes() {
            self.buffer.clear();
            self.expected = bytes;
        }
    }

    /// Forgets what is half in.
    pub(crate) fn clear(&mut self) {
        self.buffer.clear();
        self.preamble = 0;
        self.expected = 0;
    }

    /// What is half in, for an answer that has no end of its own.
    pub(crate) fn rest(&self) -> Vec<u8> {
        match self.family.style() {
            Style::Text => trimmed(&self.buffer),
            Style::Hex => self.buffer.clone(),
        }
    }

    /// Takes one byte.
    pub(crate) fn hear(&mut self, byte: u8) -> Option<Heard> {
        if self.buffer.len() >= LONGEST {
            self.buffer.drain(..LONGEST / 2);
        }
        match self.family {
            Family::Semicolon => self.semicolon(byte),
            Family::FeFrames => self.fe_frame(byte),
            Family::FiveByte | Family::FiveByteDuplex => self.counted(byte),
            Family::WLines => self.line(byte),
            Family::AzElWords => self.words(byte),
            Family::ThirteenByte => self.twelve(byte),
        }
    }

    fn take(&mut self) -> Option<Heard> {
        Some(plain(std::mem::take(&mut self.buffer)))
    }

    fn semicolon(&mut self, byte: u8) -> Option<Heard> {
        match byte {
            b'!'..=b'~' | b' ' => self.buffer.push(byte),
            _ => self.buffer.clear(),
        }
        if byte == b';' { self.take() } else { None }
    }

    fn fe_frame(&mut self, byte: u8) -> Option<Heard> {
        match byte {
            0xFE if self.buffer.is_empty() => self.preamble = (self.preamble + 1).min(2),
            0xFE => {
                self.clear();
                self.preamble = 1;
            }
            0xFC => {
                self.clear();
                return Some(Heard::Collision);
            }
            0xFD => {
                let frame = std::mem::take(&mut self.buffer);
                self.preamble = 0;
                return addressed(frame);
            }
            _ if self.preamble == 2 => self.buffer.push(byte),
            _ => self.preamble = 0,
        }
        None
    }

    fn counted(&mut self, byte: u8) -> Option<Heard> {
        if self.expected == 0 {
            return None;
        }
        self.buffer.push(byte);
        if self.buffer.len() < self.expected {
            return None;
        }
        self.expected = 0;
        self.take()
    }

    fn line(&mut self, byte: u8) -> Option<Heard> {
        match byte {
            b' '..=b'~' => self.buffer.push(byte),
            b'\r' | b'\n' => return self.take_text(),
            _ => self.buffer.clear(),
        }
        if self.buffer.ends_with(b"?>") { self.take_text() } else { None }
    }

    /// The answer may be one line or two: each line end offers all that has come since the last
    /// complete pair of words.
    fn words(&mut self, byte: u8) -> Option<Heard> {
        let is_end = matches!(byte, b'\r' | b'\n');
        match byte {
            b' '..=b'~' => self.buffer.push(byte),
            b'\r' | b'\n' | b'\t' | 0 => self.buffer.push(b' '),
            _ => self.buffer.clear(),
        }
        if self.buffer.ends_with(b"AZ") {
            self.buffer = b"AZ".to_vec();
        }
        if !is_end {
            return None;
        }
        let has = |word: &[u8]| self.buffer.windows(2).any(|pair| pair == word);
        match (has(b"AZ"), has(b"EL")) {
            (true, true) | (false, false) => self.take_text(),
            (true, false) | (false, true) => Some(plain(trimmed(&self.buffer))),
        }
    }

    fn twelve(&mut self, byte: u8) -> Option<Heard> {
        self.buffer.push(byte);
        if self.buffer.len() == 12 && self.buffer.starts_with(b"W") && byte == 0x20 {
            return self.take();
        }
        while !self.buffer.is_empty() && (self.buffer[0] != b'W' || self.buffer.len() >= 12) {
            self.buffer.remove(0);
        }
        None
    }

    fn take_text(&mut self) -> Option<Heard> {
        let text = trimmed(&std::mem::take(&mut self.buffer));
        (!text.is_empty()).then(|| plain(text))
    }
}

fn plain(content: Vec<u8>) -> Heard {
    Heard::Frame { from: None, to_all: false, content }
}

fn trimmed(text: &[u8]) -> Vec<u8> {
    text.trim_ascii().to_vec()
}

/// A bus frame: for us, or else our own echo or what others say to each other.
fn addressed(frame: Vec<u8>) -> Option<Heard> {
    let [to, from, content @ ..] = &frame[..] else { return None };
    if content.is_empty() {
        return None;
    }
    let concerns_us = *from != CONTROLLER && (*to == CONTROLLER || *to == 0);
    Some(match concerns_us {
        true => Heard::Frame { from: Some(*from), to_all: *to == 0, content: content.to_vec() },
        false => Heard::Passing { length: content.len() },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heard(family: Family, bytes: &[u8]) -> Vec<Vec<u8>> {
        let mut framer = Framer::new(family);
        let frames = bytes.iter().filter_map(|byte| framer.hear(*byte));
        frames
            .filter_map(|heard| match heard {
                Heard::Frame { content, .. } => Some(content),
                Heard::Collision => Some(b"collision".to_vec()),
                Heard::Passing { .. } => None,
            })
            .collect()
    }

    #[test]
    fn garbage_ends_with_the_next_frames_start() {
        assert_eq!(
            heard(Family::Semicolon, b"\x80x\xFFFA00145950000;ID019;"),
            [&b"FA00145950000;"[..], b"ID019;"]
        );
        let bus = [0x55, 0xFE, 0x12, 0xFE, 0xFE, 0xE0, 0xA2, 0xFE, 0xFE, 0xE0, 0xA2, 0xFB, 0xFD];
        assert_eq!(heard(Family::FeFrames, &bus), [[0xFB]]);
        let block = [b'W', 9, 9, b'W', 3, 7, 2, 5, 2, 3, 9, 4, 0, 2, 0x20];
        assert_eq!(heard(Family::ThirteenByte, &block), [&block[3..]]);
    }

    #[test]
    fn a_bus_hears_neither_its_own_echo_nor_others_talk() {
        let echo = [0xFE, 0xFE, 0xA2, 0xE0, 0x03, 0xFD];
        let others = [0xFE, 0xFE, 0x70, 0xA2, 0x03, 0xFD];
        assert!(heard(Family::FeFrames, &echo).is_empty());
        assert!(heard(Family::FeFrames, &others).is_empty());
        assert_eq!(heard(Family::FeFrames, &[0xFE, 0xFE, 0xFC, 0xFC]), [b"collision", b"collision"]);
        let unasked = [0xFE, 0xFE, 0x00, 0xA2, 0x00, 0x00, 0x00, 0x95, 0x45, 0x01, 0xFD];
        let mut framer = Framer::new(Family::FeFrames);
        let last = unasked.iter().filter_map(|byte| framer.hear(*byte)).last();
        assert!(matches!(last, Some(Heard::Frame { from: Some(0xA2), to_all: true, .. })));
    }

    #[test]
    fn lines_and_words_come_with_any_padding() {
        assert_eq!(heard(Family::WLines, b"\r\n+0180+0045\r\n?>"), [&b"+0180+0045"[..], b"?>"]);
        assert_eq!(heard(Family::AzElWords, b" AZ180.0  EL45.0 \r\n"), [b"AZ180.0  EL45.0"]);
        assert_eq!(heard(Family::AzElWords, b"AZ180.0\nEL45.0\n"), [&b"AZ180.0"[..], b"AZ180.0 EL45.0"]);
        assert_eq!(heard(Family::AzElWords, b"AZ17AZ180.0 EL45.0\n"), [b"AZ180.0 EL45.0"]);
    }

    #[test]
    fn half_a_binary_answer_is_shown_to_its_last_byte() {
        let mut framer = Framer::new(Family::ThirteenByte);
        assert!([b'W', 3, 7, 9].into_iter().all(|byte| framer.hear(byte).is_none()));
        assert_eq!(framer.rest(), [b'W', 3, 7, 9]);
    }

    #[test]
    fn counting_reads_no_byte_beyond_the_frame() {
        let mut framer = Framer::new(Family::FiveByte);
        assert_eq!(framer.hear(1), None);
        framer.expect(2);
        assert_eq!((framer.hear(2), framer.hear(3)), (None, Some(plain(vec![2, 3]))));
        assert_eq!(framer.hear(4), None);
    }

    #[test]
    fn endless_garbage_takes_no_memory() {
        for family in Family::ALL {
            let mut framer = Framer::new(family);
            framer.expect(5);
            let loudest = (0..10_000_u32).map(|i| framer.hear([b'W', 0x41, 0xFE][i as usize % 3])).count();
            assert!(loudest == 10_000 && framer.buffer.len() <= LONGEST, "{}", family.name());
        }
    }
}
