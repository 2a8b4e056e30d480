//! The radio with two bands, each addressed by opcode. It is deaf until control is switched on,
//! and answers questions only.

use super::{Command, Counting, Transceiver, mode, shift, switch_tone};
use crate::sim::device::Voice;
use crate::sim::radio::{Offsets, RadioSettings};
use crate::sim::{Cause, Device, Handles, Utterance};
use crate::terms::{Hertz, Time, Tone};

/// The dials: the one in use without duplex, and those that receive and transmit with it.
const MAIN: usize = 0;
const RECEIVE: usize = 1;
const TRANSMIT: usize = 2;

/// The tone chip's codes with their tones in tenths of hertz; 67.0, 88.5 and 100.0 are in the
/// design, the others from memory of the chip's table.
const CHIP: [(u8, u16); 38] = [
    (0x3F, 670),
    (0x1F, 719),
    (0x3E, 744),
    (0x0F, 770),
    (0x3D, 797),
    (0x1E, 825),
    (0x3C, 854),
    (0x0E, 885),
    (0x3B, 915),
    (0x1D, 948),
    (0x3A, 974),
    (0x0D, 1000),
    (0x1C, 1035),
    (0x0C, 1072),
    (0x1B, 1109),
    (0x0B, 1148),
    (0x1A, 1188),
    (0x0A, 1230),
    (0x19, 1273),
    (0x09, 1318),
    (0x18, 1365),
    (0x08, 1413),
    (0x17, 1462),
    (0x07, 1514),
    (0x16, 1567),
    (0x06, 1622),
    (0x15, 1679),
    (0x05, 1738),
    (0x14, 1799),
    (0x04, 1862),
    (0x13, 1928),
    (0x03, 2035),
    (0x12, 2107),
    (0x02, 2181),
    (0x11, 2257),
    (0x01, 2336),
    (0x10, 2418),
    (0x00, 2503),
];

/// The radio. It takes settings while it transmits.
pub struct FiveByteDuplex {
    radio: Transceiver,
    voice: Voice,
    counting: Counting,
    listens: bool,
    duplex: bool,
    /// Repeater shift; in effect without duplex only (from memory of manuals).
    shift: Hertz,
}

impl FiveByteDuplex {
    /// Switched on, deaf, without duplex, its main dial where the first dial of the settings is;
    /// its transmitting dial there too, its receiving one where the second is. It has no clarifier.
    pub fn new(mut settings: RadioSettings, handles: Handles) -> Self {
        let (voice, [first, second]) = (Voice::new(settings.thinking_s), settings.opening);
        let shift = settings.opening_offsets.shift;
        settings.opening_offsets = Offsets { shift, ..Offsets::default() };
        let radio = Transceiver::new(settings, handles, vec![first, second, first], (MAIN, MAIN));
        Self { radio, voice, counting: Counting::default(), listens: false, duplex: false, shift }
    }

    fn obey(&mut self, command: &Command, at: Time) {
        // Held against the sender, and obeyed, even while it is deaf: no judge is too strict here.
        if self.radio.keyed_by(command, at) || self.radio.forbids(command, at) {
            return;
        }
        if !self.listens && command[4] != 0x00 {
            return;
        }
        let refuses = self.radio.refuses_all();
        let done = match self.answer(command[4], at) {
            _ if refuses => None,
            Some(answer) => {
                self.voice.answer(answer, at);
                Some(())
            }
            None if self.radio.refuses_sets(at) => None,
            None => self.set(command, at),
        };
        if done.is_none() {
            self.radio.handles.record.count(|counts| counts.refused += 1);
        }
    }

    fn answer(&self, opcode: u8, at: Time) -> Option<Vec<u8>> {
        Some(match opcode {
            0x03 | 0x13 | 0x23 => self.radio.dial_bytes(self.dial(opcode)?),
            0xE7 => vec![self.radio.receive_status(at)],
            0xF7 => vec![self.radio.transmit_status()],
            _ => return None,
        })
    }

    fn set(&mut self, command: &Command, at: Time) -> Option<()> {
        let [first, .., opcode] = *command;
        match opcode {
            0x00 | 0x80 => self.listens = opcode == 0x00,
            0x4E | 0x8E => {
                self.duplex = opcode == 0x4E;
                self.set_roles(at);
            }
            0x09 => {
                self.shift = shift(first)?;
                self.set_roles(at);
            }
            _ => self.set_dial(command, self.dial(opcode)?, at)?,
        }
        Some(())
    }

    fn set_roles(&mut self, at: Time) {
        let (roles, shift) =
            if self.duplex { ((RECEIVE, TRANSMIT), Hertz(0)) } else { ((MAIN, MAIN), self.shift) };
        self.radio.change(at, Cause::Command, |panel| {
            (panel.receive, panel.transmit) = roles;
            panel.offsets.shift = shift;
        });
    }

    fn set_dial(&mut self, command: &Command, dial: usize, at: Time) -> Option<()> {
        let [first, .., opcode] = *command;
        match opcode & 0x0F {
            0x1 => self.radio.tune_digits(dial, &command[..4], at),
            0x7 => self.radio.change_vfo(at, dial, |vfo| {
                vfo.mode = mode(first)?;
                Some(())
            }),
            0xA => self.radio.change_vfo(at, dial, |vfo| switch_tone(vfo, first)),
            0xB => self.radio.change_vfo(at, dial, |vfo| {
                vfo.tone = Some(tone(first)?);
                Some(())
            }),
            _ => None,
        }
    }

    /// The dial that the high half of an opcode names.
    fn dial(&self, opcode: u8) -> Option<usize> {
        match opcode >> 4 {
            0x0 => Some(self.radio.panel().receive),
            0x1 => Some(RECEIVE),
            0x2 => Some(TRANSMIT),
            _ => None,
        }
    }
}

/// The tone of a code of the chip.
pub(super) fn tone(code: u8) -> Option<Tone> {
    let (_, tenths) = CHIP.iter().find(|(known, _)| *known == code)?;
    Tone::from_tenths(*tenths).ok()
}

impl Device for FiveByteDuplex {
    fn hear(&mut self, byte: u8, at: Time) {
        if let Some(command) = self.counting.hear(byte, at) {
            self.radio.handles.record.count(|counts| counts.commands += 1);
            self.obey(&command, at);
        }
    }

    fn advance(&mut self, now: Time) {
        self.radio.let_the_operator_act(now);
    }

    fn next_event(&self) -> Option<Time> {
        self.radio.handles.script.next_event()
    }

    fn say(&mut self) -> Vec<Utterance> {
        self.voice.take()
    }

    fn handles(&self) -> &Handles {
        &self.radio.handles
    }
}
