//! What a frame does to a radio's dials. A dialect file is judged by it when it is read: where a
//! frame puts the transmitter is no matter of the file's word alone. Codes from memory of manuals.

use super::Family;
use crate::terms::Hertz;

/// A frame that sets a frequency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Tuned {
    /// Which dial: the part of the command that names it.
    pub(crate) dial: Vec<u8>,
    /// What it is set to; `None` if the data is no number.
    pub(crate) hertz: Option<Hertz>,
}

impl Family {
    /// The dial that `frame` sets, and to what; `None` for any other command.
    pub(crate) fn tuned(self, frame: &[u8]) -> Option<Tuned> {
        match self {
            Family::Semicolon => {
                let command = letters_first(frame);
                let data = command.get(2..).filter(|data| !data.is_empty())?;
                let dial = command[..2].to_vec();
                matches!(&dial[..], b"FA" | b"FB" | b"FC").then(|| Tuned { dial, hertz: decimal(data) })
            }
            Family::FeFrames => {
                let (dial, data) = match on_the_bus(frame) {
                    // 25 00 is the selected VFO, as 05 is; 00 is a report, which radios obey.
                    [0x00 | 0x05, data @ ..] | [0x25, 0x00, data @ ..] => (&[0x05][..], data),
                    [0x25, _, data @ ..] => (&[0x25][..], data),
                    _ => return None,
                };
                let lowest_last: Vec<u8> = data.iter().rev().copied().collect();
                (!data.is_empty()).then(|| Tuned { dial: dial.to_vec(), hertz: bcd(&lowest_last) })
            }
            Family::FiveByte | Family::FiveByteDuplex => {
                let (opcode, data) = frame.split_last()?;
                let tens = |Hertz(tens)| Hertz(tens * 10);
                matches!(opcode, 0x01 | 0x11 | 0x21)
                    .then(|| Tuned { dial: vec![*opcode], hertz: bcd(data).map(tens) })
            }
            Family::WLines | Family::AzElWords | Family::ThirteenByte => None,
        }
    }

    /// Whether a radio of this family may tune by commands that are not known here. Two letters
    /// are any radio's own; a byte that is not known may be anything.
    pub(crate) fn has_other_tuning_commands(self) -> bool {
        self == Family::Semicolon
    }

    /// How `frame` moves a dial to where no frequency was named, and the licence was not asked.
    /// `is_question`: it is sent for its answer.
    pub(crate) fn displaces(self, frame: &[u8], is_question: bool) -> Option<&'static str> {
        match self {
            // The nine-digit layout asks with the receiver's number alone.
            Family::Semicolon if is_question && letters_first(frame) == b"OS1" => None,
            Family::Semicolon => displaces_by_letters(&letters_first(frame)),
            Family::FeFrames => match on_the_bus(frame) {
                [0x08, ..] | [0x0A, ..] => Some("recalls a memory"),
                [0x0D, _, ..] => Some("sets the repeater shift"),
                [0x0E, 0x01..=0xFF, ..] => Some("starts a scan"),
                [0x0F, 0x11..=0x1F, ..] => Some("switches the repeater shift on"),
                [0x07, 0xA0 | 0xB1, ..] => Some("copies one dial to the other"),
                [0x21, 0x02, 0x01..=0xFF, ..] => Some("switches the transmit clarifier on"),
                _ => None,
            },
            Family::FiveByte | Family::FiveByteDuplex => match frame {
                [0x89, _, _, _, 0x09] => None,
                [_, _, _, _, 0x09] => Some("switches the repeater shift on"),
                [_, _, _, _, 0xF9] => Some("sets the repeater shift"),
                _ => None,
            },
            Family::WLines | Family::AzElWords | Family::ThirteenByte => None,
        }
    }

    /// Whether `frame` exchanges what is on two dials.
    pub(crate) fn exchanges(self, frame: &[u8]) -> bool {
        match self {
            Family::Semicolon => letters_first(frame).starts_with(b"SV"),
            Family::FeFrames => on_the_bus(frame).starts_with(&[0x07, 0xB0]),
            _ => false,
        }
    }

    /// The VFO on which a radio receives after `frames`, as far as they select one. Where the dials
    /// have names, mode and tone still act on the one that receives.
    pub(crate) fn receives_on<'f>(self, frames: impl Iterator<Item = &'f [u8]>) -> Option<u8> {
        if self != Family::Semicolon {
            return self.selected(frames);
        }
        let vfo = |frame: &[u8]| match letters_first(frame)[..] {
            [b'F', b'R', vfo] => Some(vfo),
            _ => None,
        };
        frames.filter_map(vfo).last()
    }

    /// The VFO or band on which a command acts after `frames`, as far as they select one.
    pub(crate) fn selected<'f>(self, frames: impl Iterator<Item = &'f [u8]>) -> Option<u8> {
        match self {
            Family::FeFrames => frames
                .filter_map(|frame| match on_the_bus(frame) {
                    [0x07, vfo @ (0x00 | 0x01 | 0xD0 | 0xD1)] => Some(*vfo),
                    _ => None,
                })
                .last(),
            // A toggle: twice is back.
            Family::FiveByte => {
                let toggles = frames.filter(|frame| frame.last() == Some(&0x81)).count();
                (toggles % 2 == 1).then_some(0x81)
            }
            _ => None,
        }
    }
}

fn displaces_by_letters(command: &[u8]) -> Option<&'static str> {
    let (name, data) = command.split_at_checked(2)?;
    let is_on = data.last().is_some_and(|digit| *digit != b'0');
    match name {
        b"UP" | b"DN" | b"BU" | b"BD" => Some("steps the dial"),
        b"BS" if !data.is_empty() => Some("changes the band"),
        b"AB" | b"BA" | b"VV" => Some("copies one dial to the other"),
        b"MC" | b"QR" if !data.is_empty() => Some("recalls a memory"),
        b"OF" if !data.is_empty() => Some("sets the repeater shift"),
        b"OS" if is_on => Some("switches the repeater shift on"),
        b"XT" if is_on => Some("switches the transmit clarifier on"),
        _ => None,
    }
}

/// A radio passes over what is no letter before a command, and takes small letters too.
fn letters_first(frame: &[u8]) -> Vec<u8> {
    let command = frame.strip_suffix(b";").unwrap_or(frame);
    let start = command.iter().position(u8::is_ascii_alphabetic).unwrap_or(command.len());
    command[start..].to_ascii_uppercase()
}

/// What stands between the addresses and the end of a bus frame.
fn on_the_bus(frame: &[u8]) -> &[u8] {
    match frame {
        [0xFE, 0xFE, _, _, content @ .., 0xFD] => content,
        _ => &[],
    }
}

fn decimal(digits: &[u8]) -> Option<Hertz> {
    let all_digits = digits.iter().all(u8::is_ascii_digit);
    std::str::from_utf8(digits).ok().filter(|_| all_digits)?.parse().ok().map(Hertz)
}

fn bcd(bytes: &[u8]) -> Option<Hertz> {
    let digits: Vec<u8> = bytes.iter().flat_map(|byte| [b'0' + (byte >> 4), b'0' + (byte & 15)]).collect();
    decimal(&digits)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bus(content: &[u8]) -> Vec<u8> {
        [&[0xFE, 0xFE, 0xA2, 0xE0], content, &[0xFD]].concat()
    }

    // 145.950 MHz in each language: design examples, from memory of manuals.
    #[test]
    fn what_sets_a_frequency_is_known_with_its_dial() {
        let set = |family: Family, frame: &[u8]| family.tuned(frame).map(|tuned| (tuned.dial, tuned.hertz));
        let there = Some(Hertz(145_950_000));
        for frame in [&b"FB00145950000;"[..], b"fb145950000;", b"0 FB00145950000;"] {
            assert_eq!(set(Family::Semicolon, frame), Some((b"FB".to_vec(), there)));
        }
        assert_eq!(set(Family::Semicolon, b"FA 145950000;"), Some((b"FA".to_vec(), None)));
        assert_eq!(set(Family::Semicolon, b"FA;"), None);
        let digits = [0x00, 0x00, 0x95, 0x45, 0x01];
        for (head, dial) in
            [(&[0x05][..], 0x05), (&[0x00], 0x05), (&[0x25, 0x00], 0x05), (&[0x25, 0x01], 0x25)]
        {
            let frame = bus(&[head, &digits].concat());
            assert_eq!(set(Family::FeFrames, &frame), Some((vec![dial], there)));
        }
        assert_eq!(set(Family::FeFrames, &bus(&[0x03])), None);
        assert_eq!(set(Family::FeFrames, &bus(&[0x25, 0x01])), None);
        assert_eq!(set(Family::FiveByte, &[0x14, 0x59, 0x50, 0x00, 0x01]), Some((vec![0x01], there)));
        assert_eq!(set(Family::FiveByteDuplex, &[0x14, 0x59, 0x50, 0x00, 0x21]), Some((vec![0x21], there)));
        assert_eq!(set(Family::FiveByteDuplex, &[0, 0, 0, 0, 0x23]), None);
    }

    #[test]
    fn what_moves_a_dial_without_a_frequency_is_known() {
        let letters = |frame: &str| Family::Semicolon.displaces(frame.as_bytes(), false);
        for frame in ["OS1;", "OS02;", "OS11;", "XT1;", "MC0010;", "UP;", "AB;", "vv;"] {
            assert!(letters(frame).is_some(), "{frame}");
        }
        for frame in ["OS0;", "OS00;", "OS10;", "OS;", "XT0;", "XT;", "MC;", "FT1;", "FA00145950000;"] {
            assert_eq!(letters(frame), None, "{frame}");
        }
        assert_eq!(
            Family::Semicolon.displaces(b"OS1;", true),
            None,
            "the other receiver's shift is asked for"
        );
        let sent = |content: &[u8]| Family::FeFrames.displaces(&bus(content), false);
        assert!(sent(&[0x0F, 0x11]).is_some() && sent(&[0x21, 0x02, 0x01]).is_some());
        for content in [&[0x0F, 0x10][..], &[0x0F, 0x01], &[0x21, 0x02, 0x00], &[0x07, 0xB0], &[0x0E, 0x00]] {
            assert_eq!(sent(content), None);
        }
        assert!(Family::FiveByte.displaces(&[0x49, 0, 0, 0, 0x09], false).is_some());
        assert_eq!(Family::FiveByte.displaces(&[0x89, 0, 0, 0, 0x09], false), None);
    }

    #[test]
    fn the_vfo_that_receives_is_the_one_selected_last() {
        let letters = |frames: &[&[u8]]| Family::Semicolon.receives_on(frames.iter().copied());
        assert_eq!(letters(&[b"FR1;", b"FT1;", b"MD4;"]), Some(b'1'));
        assert_eq!(letters(&[b"FR1;", b"MD4;", b"fr0;", b"FT1;"]), Some(b'0'));
        assert_eq!(letters(&[b"FT1;", b"FR;", b"FB00145950000;"]), None);
        let vfo_b = bus(&[0x07, 0x01]);
        assert_eq!(Family::FeFrames.receives_on([vfo_b.as_slice(), &bus(&[0x03])].into_iter()), Some(0x01));
        let toggle = [0, 0, 0, 0, 0x81];
        assert_eq!(Family::FiveByte.receives_on([&toggle[..]; 3].into_iter()), Some(0x81));
        assert_eq!(Family::FiveByte.receives_on([&toggle[..]; 2].into_iter()), None);
    }
}
