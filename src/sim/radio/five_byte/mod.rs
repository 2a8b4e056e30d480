//! A radio that speaks four parameter bytes and an opcode, without framing: [`FiveByte`] has two
//! dials and acknowledges every command, [`FiveByteDuplex`] two bands and acknowledges none. Codes
//! beyond the design's examples are from memory of radios' manuals.

mod duplex;
mod single;

pub use duplex::FiveByteDuplex;
pub use single::FiveByte;

use super::decimal::{decimal, decimal_bytes};
use super::{Transceiver, Vfo, meter};
use crate::terms::{Hertz, Mode, Time, seconds_between};

/// Half a command is forgotten after so much silence, seconds.
const PATIENCE_S: f64 = 0.200;
/// The smallest step that a command can say.
const UNIT: i64 = 10;
/// Offset of the automatic repeater shift.
const SHIFT: Hertz = Hertz(600_000);
/// The meter's S9 and end.
const METER: (f64, f64) = (9.0, 15.0);
/// A bit of the receive status that means something else and is often set: it has to be masked.
const OFF_CENTRE: u8 = 0x20;
/// What the transmit power meter shows on the air.
const POWER: u8 = 0x0A;

/// Four parameters and an opcode.
type Command = [u8; 5];

/// Makes commands of bytes by nothing but counting.
#[derive(Debug, Default)]
struct Counting {
    bytes: Vec<u8>,
    last: Option<Time>,
}

impl Counting {
    fn hear(&mut self, byte: u8, at: Time) -> Option<Command> {
        if self.last.is_some_and(|last| seconds_between(last, at) >= PATIENCE_S) {
            self.bytes.clear();
        }
        self.last = Some(at);
        self.bytes.push(byte);
        let command = Command::try_from(&self.bytes[..]).ok()?;
        self.bytes.clear();
        Some(command)
    }
}

impl Transceiver {
    /// Key commands work, as on a real radio; the record holds them against the sender. Gives
    /// whether it was one.
    fn keyed_by(&mut self, command: &Command, at: Time) -> bool {
        let is_key = matches!(command[4], 0x08 | 0x88);
        if is_key {
            self.key(at, command[4] == 0x08, command);
        }
        is_key
    }

    /// Power, memory write and reset: recorded, without effect or answer.
    fn forbids(&self, command: &Command, at: Time) -> bool {
        let is_forbidden = matches!(command[4], 0x0F | 0x8F | 0xBC | 0xBE);
        if is_forbidden {
            self.forbidden(at, command);
        }
        is_forbidden
    }

    /// Tunes a dial to a frequency in four bytes of decimal digits, in tens of hertz.
    fn tune_digits(&mut self, dial: usize, digits: &[u8], at: Time) -> Option<()> {
        self.tune(at, dial, Hertz(decimal(digits)? * UNIT))
    }

    /// The digits of a dial and its mode.
    fn dial_bytes(&self, dial: usize) -> Vec<u8> {
        let Vfo { hertz, mode, .. } = self.panel().vfos[dial];
        let digits: [u8; 4] = decimal_bytes(hertz.0.unsigned_abs() / UNIT.unsigned_abs());
        [&digits[..], &[mode_byte(mode)]].concat()
    }

    /// Bit 7: the squelch is closed; low nibble: the signal.
    fn receive_status(&self, at: Time) -> u8 {
        let level = self.signal_dbm(at);
        let closed = if meter::is_open(level) { 0x00 } else { 0x80 };
        closed | OFF_CENTRE | meter::reading(level, METER.0, METER.1) as u8
    }

    /// Bit 7 is low on the air; a receiving radio has all bits set.
    fn transmit_status(&self) -> u8 {
        if self.panel().keyed { POWER } else { 0xFF }
    }
}

/// The repeater shift of a code.
fn shift(code: u8) -> Option<Hertz> {
    match code {
        0x09 => Some(Hertz(-SHIFT.0)),
        0x49 => Some(SHIFT),
        0x89 => Some(Hertz(0)),
        _ => None,
    }
}

/// Switches the tone of a transmission, alone or together with that of the squelch.
fn switch_tone(vfo: &mut Vfo, code: u8) -> Option<()> {
    (vfo.tone_on, vfo.tone_squelch) = match code {
        0x4A => (true, false),
        0x2A => (true, true),
        0x8A => (false, false),
        _ => return None,
    };
    Some(())
}

/// The mode of a code.
fn mode(code: u8) -> Option<Mode> {
    Some(match code {
        0x00 => Mode::Lsb,
        0x01 => Mode::Usb,
        0x02 => Mode::Cw,
        0x04 => Mode::Am,
        0x08 => Mode::Fm,
        _ => return None,
    })
}

/// The code of a mode.
fn mode_byte(mode: Mode) -> u8 {
    match mode {
        Mode::Lsb => 0x00,
        Mode::Usb => 0x01,
        Mode::Cw => 0x02,
        Mode::Am => 0x04,
        Mode::Fm => 0x08,
    }
}

#[cfg(test)]
mod tests;
