//! Frames and the frequencies in them.

use crate::sim::radio::decimal::{decimal, decimal_bytes};
use crate::terms::Hertz;

/// Longest content of a frame that the radio keeps.
const LONGEST: usize = 64;

/// One frame, without its preamble and end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Frame {
    pub(super) to: u8,
    pub(super) from: u8,
    /// Command, sub-command and data.
    pub(super) content: Vec<u8>,
}

impl Frame {
    pub(super) fn encode(&self) -> Vec<u8> {
        [&[0xFE, 0xFE, self.to, self.from], &self.content[..], &[0xFD]].concat()
    }
}

/// Finds frames in a stream of bytes: two `FE` begin one wherever they come, `FD` ends it, and
/// `FC` (the mark of a collision) makes everything before the next preamble void.
#[derive(Debug, Default)]
pub(super) struct Framing {
    preamble: usize,
    body: Vec<u8>,
}

impl Framing {
    pub(super) fn hear(&mut self, byte: u8) -> Option<Frame> {
        match byte {
            0xFE => {
                self.preamble = if self.body.is_empty() { self.preamble + 1 } else { 1 };
                self.body.clear();
                None
            }
            _ if self.preamble < 2 => {
                self.forget();
                None
            }
            0xFD => {
                let body = std::mem::take(&mut self.body);
                self.forget();
                let (&[to, from], content) = body.split_first_chunk()?;
                (!content.is_empty()).then(|| Frame { to, from, content: content.into() })
            }
            0xFC => {
                self.forget();
                None
            }
            _ if self.body.len() >= LONGEST => {
                self.forget();
                None
            }
            _ => {
                self.body.push(byte);
                None
            }
        }
    }

    fn forget(&mut self) {
        *self = Self::default();
    }
}

/// A frequency as five bytes of two decimal digits, the lowest first.
pub(super) fn frequency_bytes(hertz: Hertz) -> [u8; 5] {
    let mut bytes = decimal_bytes(hertz.0.unsigned_abs());
    bytes.reverse();
    bytes
}

/// The frequency in five such bytes.
pub(super) fn frequency(bytes: &[u8]) -> Option<Hertz> {
    let mut bytes: [u8; 5] = bytes.try_into().ok()?;
    bytes.reverse();
    decimal(&bytes).map(Hertz)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frames(bytes: &[u8]) -> Vec<Frame> {
        let mut framing = Framing::default();
        bytes.iter().filter_map(|byte| framing.hear(*byte)).collect()
    }

    #[test]
    fn a_frequency_is_five_bytes_lowest_digits_first() {
        let bytes = [0x00, 0x00, 0x95, 0x45, 0x01];
        assert_eq!(frequency_bytes(Hertz(145_950_000)), bytes);
        assert_eq!(frequency(&bytes), Some(Hertz(145_950_000)));
        assert_eq!(frequency(&[0x0A, 0, 0, 0, 0]), None);
        assert_eq!(frequency(&bytes[..4]), None);
    }

    #[test]
    fn a_frame_is_found_after_noise_a_long_preamble_and_a_collision() {
        let good = Frame { to: 0x5A, from: 0xE0, content: vec![0x03] };
        for noise in [&[][..], &[0x12, 0xFD], &[0xFE], &[0xFE, 0xFE, 0x5A, 0xFC, 0xFC], &[0xFE, 0xFE, 0x5A]] {
            assert_eq!(
                frames(&[noise, &good.encode()].concat()),
                std::slice::from_ref(&good),
                "{noise:02X?}"
            );
        }
        assert_eq!(frames(&[0xFE, 0xFE, 0xFD, 0xFE, 0xFE, 0x5A, 0xE0, 0xFD]), []);
        assert_eq!(frames(&[0xFE, 0x5A, 0xE0, 0x03, 0xFD]), []);
    }
}
