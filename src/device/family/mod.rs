//! The wire families: framing, recovery, and the guard that no dialect file can override.

mod framing;
mod guard;
mod motion;
mod never;
mod tuning;

use std::ops::RangeInclusive;
use std::time::Duration;

use serde::{Deserialize, Serialize};

pub(crate) use framing::{Framer, Heard};
pub use guard::{Guard, Verdict};
pub(crate) use motion::{Axis, Motion};

use super::dialect::{Specimen, Style};

/// The address that Beamhand uses on a shared bus.
pub(crate) const CONTROLLER: u8 = 0xE0;

/// The bus addresses at which a radio can be served. 0x00 is everybody's; 0x01 and 0x02 could be
/// the data of a key command of which somebody left the head, so after an opening no question to
/// them is safe; menus end at 0xDF (from memory of manuals).
pub const ADDRESSES: RangeInclusive<u8> = 0x03..=0xDF;

/// A family of wire languages, named by its shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Family {
    /// ASCII commands that end in `;`.
    Semicolon,
    /// Binary frames from FE FE to FD on a shared bus.
    FeFrames,
    /// Four parameter bytes and an opcode, each command acknowledged.
    FiveByte,
    /// The same shape with two bands; commands are not acknowledged.
    FiveByteDuplex,
    /// A rotator's lines, `W180 045`, ending in CR.
    WLines,
    /// A rotator's words, `AZ180.0 EL45.0`.
    AzElWords,
    /// A rotator's blocks of thirteen bytes.
    ThirteenByte,
}

impl Family {
    /// Every family.
    pub const ALL: [Family; 7] = [
        Family::Semicolon,
        Family::FeFrames,
        Family::FiveByte,
        Family::FiveByteDuplex,
        Family::WLines,
        Family::AzElWords,
        Family::ThirteenByte,
    ];

    /// The name that dialect files use.
    pub fn name(self) -> &'static str {
        match self {
            Family::Semicolon => "semicolon",
            Family::FeFrames => "fe-frames",
            Family::FiveByte => "five-byte",
            Family::FiveByteDuplex => "five-byte-duplex",
            Family::WLines => "w-lines",
            Family::AzElWords => "az-el-words",
            Family::ThirteenByte => "thirteen-byte",
        }
    }

    /// How long the line stays silent after an open, an error, a short write or a missing answer.
    /// The five-byte languages forget half a command after 200 ms; the slow rotator's answer takes
    /// 200 ms; elsewhere it lets a late answer pass (our choice).
    pub fn recovery(self) -> Duration {
        match self {
            Family::FiveByte | Family::FiveByteDuplex | Family::ThirteenByte => Duration::from_millis(250),
            _ => Duration::from_millis(100),
        }
    }

    /// How many bytes an acknowledgement has: what a good command costs beyond its own bytes.
    pub fn acknowledgement(self) -> usize {
        match self {
            Family::FeFrames => "FE FE to from FB FD".split(' ').count(),
            Family::FiveByte => 1,
            _ => 0,
        }
    }

    /// How many bytes of an answer's envelope stand before what a template shows once the frame
    /// has begun, and how many there are around it in all.
    pub(crate) fn envelope(self) -> (usize, usize) {
        if self.is_addressed() { ("to from".split(' ').count(), self.acknowledgement() - 1) } else { (0, 0) }
    }

    /// Whether the recovery silence alone puts the device in step.
    pub(crate) fn silence_proves(self) -> bool {
        self.counts_bytes()
    }

    /// Whether devices have addresses on a shared line.
    pub fn is_addressed(self) -> bool {
        self == Family::FeFrames
    }

    /// Whether only the number of bytes tells where an answer ends.
    pub(crate) fn counts_bytes(self) -> bool {
        matches!(self, Family::FiveByte | Family::FiveByteDuplex)
    }

    /// How templates of this family are written.
    pub(crate) fn style(self) -> Style {
        match self {
            Family::Semicolon | Family::WLines | Family::AzElWords => Style::Text,
            _ => Style::Hex,
        }
    }

    /// The frame around what a template wrote; `None` if an address is needed and missing.
    pub(crate) fn wrap(self, mut content: Vec<u8>, address: Option<u8>) -> Option<Vec<u8>> {
        match self {
            Family::FeFrames => {
                let mut frame = vec![0xFE, 0xFE, address?, CONTROLLER];
                frame.append(&mut content);
                frame.push(0xFD);
                Some(frame)
            }
            Family::WLines | Family::AzElWords => {
                content.push(b'\r');
                Some(content)
            }
            _ => Some(content),
        }
    }

    /// The frame around an answer from the device at `address`; line ends are left out.
    pub(crate) fn wrap_answer(self, content: Specimen, address: Option<u8>) -> Specimen {
        match (self, address) {
            (Family::FeFrames, Some(address)) => {
                let head = [0xFE, 0xFE, CONTROLLER, address].map(Some);
                head.into_iter().chain(content).chain([Some(0xFD)]).collect()
            }
            _ => content,
        }
    }

    /// A harmless question that only a device in step answers, where the language has one that may
    /// be asked in any doubt. `ID;` is never reported unasked; `03` reads the frequency.
    pub(crate) fn proof_question(self, address: Option<u8>) -> Option<Vec<u8>> {
        match self {
            Family::Semicolon => Some(b"ID;".to_vec()),
            Family::FeFrames => self.wrap(vec![0x03], address),
            Family::FiveByteDuplex => Some(vec![0, 0, 0, 0, 0x03]),
            _ => None,
        }
    }

    /// How many bytes answer the proof question, where only counting tells.
    pub(crate) fn proof_length(self) -> Option<usize> {
        self.counts_bytes().then_some(5)
    }

    /// Whether `answer` (without its envelope) to `question` proves that the device is in step. A
    /// report that a radio may also send unasked proves nothing.
    pub(crate) fn proves(self, question: &[u8], answer: &[u8]) -> bool {
        match self {
            Family::Semicolon => question == b"ID;" && answer.starts_with(b"ID"),
            Family::FiveByte | Family::FiveByteDuplex => {
                let opcode = question.last().copied();
                opcode.and_then(|opcode| never::answer_length(self, opcode)) == Some(answer.len())
            }
            _ => true,
        }
    }

    /// Whether a device of this family may have such a refusal. Two refusals of the proof question
    /// prove that a radio is in step; a report that comes unasked may not be taken for one.
    pub(crate) fn allows_refusal(self, form: &[u8]) -> bool {
        self != Family::Semicolon || !form.iter().take(2).all(u8::is_ascii_alphabetic)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_of_another_length_than_the_opcodes_proves_nothing() {
        let proves =
            |family: Family, opcode, length: usize| family.proves(&[0, 0, 0, 0, opcode], &vec![0; length]);
        assert!(proves(Family::FiveByte, 0x03, 5) && proves(Family::FiveByte, 0x01, 1));
        assert!(!proves(Family::FiveByte, 0x03, 1) && !proves(Family::FiveByte, 0x01, 5));
        assert!(proves(Family::FiveByteDuplex, 0x13, 5) && !proves(Family::FiveByteDuplex, 0x01, 1));
        assert!(!proves(Family::FiveByte, 0xBB, 1), "nobody knows how much comes");
    }

    #[test]
    fn every_address_that_is_served_can_be_asked_for_proof_and_the_ones_below_can_not() {
        let guard = Guard::unknown(Family::FeFrames);
        let verdict = |address| guard.verdict(&[0xFE, 0xFE, address, 0xE0, 0x03, 0xFD]);
        for address in ADDRESSES {
            assert_eq!(verdict(address), Verdict::Allowed, "{address:#04x}");
        }
        for address in 0x00..*ADDRESSES.start() {
            assert_eq!(verdict(address), Verdict::NeedsProof, "{address:#04x}");
        }
    }

    #[test]
    fn no_report_is_a_refusal() {
        assert!(Family::Semicolon.allows_refusal(b"?;") && Family::Semicolon.allows_refusal(b"E;"));
        assert!(!Family::Semicolon.allows_refusal(b"FA00145950000;"));
        assert!(Family::FeFrames.allows_refusal(&[0xFA]));
    }
}
