//! The never-lists: what must not reach a device, whatever a dialect file says. From memory of
//! manuals, on the wide side; nothing outside this file adds to them or takes away.

use super::Family;

/// A forbidden command, as the bytes that must arrive in this order for a device to carry it out;
/// each is given as the set of its forms.
pub(super) struct Never {
    pub(super) sequence: &'static [&'static [u8]],
    pub(super) what: &'static str,
}

const fn never(sequence: &'static [&'static [u8]], what: &'static str) -> Never {
    Never { sequence, what }
}

/// Two letters name a command. Both layouts share the list, so that a wrong dialect does no harm.
const SEMICOLON: [Never; 16] = [
    never(&[b"Tt", b"Xx"], "TX keys the transmitter"),
    never(&[b"Rr", b"Xx"], "RX unkeys the transmitter"),
    never(&[b"Mm", b"Xx"], "MX keys the transmitter"),
    never(&[b"Vv", b"Xx"], "VX lets a sound key the transmitter"),
    never(&[b"Kk", b"Yy"], "KY sends Morse"),
    never(&[b"Kk", b"Mm"], "KM writes a Morse memory"),
    never(&[b"Pp", b"Bb"], "PB plays a voice memory"),
    never(&[b"Ll", b"Mm"], "LM records or plays a voice memory"),
    never(&[b"Aa", b"Cc"], "AC starts the antenna tuner"),
    never(&[b"Pp", b"Ss"], "PS switches the power"),
    never(&[b"Mm", b"Ww"], "MW writes a memory"),
    never(&[b"Mm", b"Tt"], "MT writes a memory"),
    never(&[b"Aa", b"Mm"], "AM writes a memory"),
    never(&[b"Bb", b"Mm"], "BM writes a memory"),
    never(&[b"Ss", b"Rr"], "SR resets the radio"),
    never(&[b"Ee", b"Xx"], "EX writes a menu"),
];

/// Bus commands that no frame of decimal digits can be taken for. The other forbidden commands
/// are in [`BUS_COMMANDS`].
const FE_FRAMES: [Never; 3] = [
    never(&[&[0x1C], &[0x00], &[0x00, 0x01]], "1C 00 with data keys the transmitter"),
    never(&[&[0x1C], &[0x01], &[0x00, 0x01, 0x02]], "1C 01 starts the antenna tuner"),
    never(&[&[0x1A], &[0x00]], "1A 00 writes a memory"),
];

/// Bus commands whose first byte is forbidden as a command, and as the byte behind the command.
pub(super) const BUS_COMMANDS: [(u8, &str); 5] = [
    (0x09, "09 writes a memory"),
    (0x0B, "0B clears a memory"),
    (0x17, "17 sends Morse"),
    (0x18, "18 switches the power"),
    (0x28, "28 plays a voice memory"),
];

/// What `16` switches on so that a sound or a Morse key transmits.
pub(super) const BUS_SWITCHES: [(u8, &str); 2] =
    [(0x46, "16 46 lets a sound key the transmitter"), (0x47, "16 47 lets a Morse key transmit")];

/// Opcodes of both five-byte families.
pub(super) const OPCODES: [(u8, &str); 6] = [
    (0x08, "08 keys the transmitter"),
    (0x88, "88 unkeys the transmitter"),
    (0x0F, "0F switches the power on"),
    (0x8F, "8F switches the power off"),
    (0xBC, "BC writes the radio's memory"),
    (0xBE, "BE resets the radio"),
];

/// Questions of the duplex language: each of their bytes is harmless as an opcode.
pub(super) const DUPLEX_QUESTION_BYTES: &[u8] = &[0x00, 0x03, 0x13, 0x23, 0xE7, 0xF7];

/// How many bytes answer an opcode of the five-byte families; from memory of manuals. Only an
/// answer of this length proves anything: if a dialect file had it shorter, the rest would be
/// taken for the next command's answer, and that one might be half lost.
pub(super) fn answer_length(family: Family, opcode: u8) -> Option<usize> {
    match (family, opcode) {
        (_, 0x03) | (Family::FiveByteDuplex, 0x13 | 0x23) => Some(5),
        (_, 0xE7 | 0xF7) => Some(1),
        (
            Family::FiveByte,
            0x01 | 0x02 | 0x05 | 0x07 | 0x09 | 0x0A | 0x0B | 0x81 | 0x82 | 0x85 | 0xF5 | 0xF9,
        ) => Some(1),
        _ => None,
    }
}

/// The sequences of a family.
pub(super) fn sequences(family: Family) -> &'static [Never] {
    match family {
        Family::Semicolon => &SEMICOLON,
        Family::FeFrames => &FE_FRAMES,
        _ => &[],
    }
}

/// The only bytes that a rotator's family may write: without the letters of motors, calibration,
/// programs and resets there is no such command, and no text that another family would obey.
pub(super) fn alphabet(family: Family) -> Option<&'static [u8]> {
    match family {
        Family::WLines => Some(b"WMCSAE0123456789 +-\r"),
        Family::AzElWords => Some(b"AZELS0123456789.+- \r"),
        Family::ThirteenByte => {
            Some(b"W0123456789\x00\x01\x02\x03\x04\x05\x06\x07\x08\x09\x0A\x0F\x1F\x2F\x20")
        }
        _ => None,
    }
}
