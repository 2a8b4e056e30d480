//! The radio with two dials, A and B, of which one is in use: which one can't be asked.

use super::{Command, Counting, Transceiver, mode, shift, switch_tone};
use crate::sim::device::Voice;
use crate::sim::radio::decimal::decimal;
use crate::sim::radio::{Panel, RadioSettings};
use crate::sim::{Cause, Device, Handles, Utterance};
use crate::terms::{Hertz, Time, Tone};

/// A command was carried out.
const DONE: u8 = 0x00;
/// It was so already, or can't be: the language has no other word for a refusal.
const AS_IT_WAS: u8 = 0xF0;

/// The radio. It has one receiver, and takes no settings while it transmits.
pub struct FiveByte {
    radio: Transceiver,
    voice: Voice,
    counting: Counting,
    split: bool,
}

impl FiveByte {
    /// Switched on, dial A in use, without split. Its only clarifier is the receiver's.
    pub fn new(mut settings: RadioSettings, handles: Handles) -> Self {
        settings.opening_offsets.xit = Hertz(0);
        let settings = RadioSettings { duplex: false, tunes_while_transmitting: false, ..settings };
        let (voice, dials) = (Voice::new(settings.thinking_s), settings.opening.to_vec());
        let radio = Transceiver::new(settings, handles, dials, (0, 0));
        Self { radio, voice, counting: Counting::default(), split: false }
    }

    /// What it says to a command, if anything.
    fn obey(&mut self, command: &Command, at: Time) -> Option<Vec<u8>> {
        let before = self.state();
        if self.radio.forbids(command, at) {
            return None;
        }
        if !self.radio.keyed_by(command, at) {
            let refuses = self.radio.refuses_all();
            match self.answer(command[4], at) {
                Some(_) if refuses => return self.refuse(None),
                Some(answer) => return Some(answer),
                None if !is_known(command[4]) => return self.refuse(None),
                None if refuses || self.radio.refuses_sets(at) => return self.refuse(Some(AS_IT_WAS)),
                None if self.set(command, at).is_none() => return self.refuse(Some(AS_IT_WAS)),
                None => {}
            }
        }
        Some(vec![if self.state() == before { AS_IT_WAS } else { DONE }])
    }

    fn refuse(&self, word: Option<u8>) -> Option<Vec<u8>> {
        self.radio.handles.record.count(|counts| counts.refused += 1);
        word.map(|word| vec![word])
    }

    /// All that a command can change.
    fn state(&self) -> (Panel, bool) {
        (self.radio.panel().clone(), self.radio.is_locked())
    }

    fn answer(&self, opcode: u8, at: Time) -> Option<Vec<u8>> {
        Some(match opcode {
            0x03 => self.radio.dial_bytes(self.radio.dial_in_use()),
            0xE7 => vec![self.radio.receive_status(at)],
            0xF7 => vec![self.radio.transmit_status()],
            _ => return None,
        })
    }

    fn set(&mut self, command: &Command, at: Time) -> Option<()> {
        let [first, second, third, fourth, opcode] = *command;
        let dial = self.radio.panel().receive;
        let radio = &mut self.radio;
        match opcode {
            0x00 | 0x80 => radio.lock(at, opcode == 0x00),
            0x01 => radio.tune_digits(dial, &command[..4], at)?,
            0x02 | 0x82 => {
                self.split = opcode == 0x02;
                self.choose(dial, at);
            }
            0x81 => self.choose(1 - dial, at),
            0x07 => {
                let mode = mode(first)?;
                radio.change(at, Cause::Command, |panel| panel.vfos[dial].mode = mode);
            }
            0x09 => {
                let shift = shift(first)?;
                radio.change(at, Cause::Command, |panel| panel.offsets.shift = shift);
            }
            0x0A => radio.change_vfo(at, dial, |vfo| switch_tone(vfo, first))?,
            0x0B => {
                // One tone to send and one to open the squelch by; the model has the first.
                let (sent, _) = (tone([first, second])?, tone([third, fourth])?);
                radio.change(at, Cause::Command, |panel| panel.vfos[dial].tone = Some(sent));
            }
            _ => radio.change(at, Cause::Command, |panel| panel.offsets.rit = Hertz(0)),
        }
        Some(())
    }

    /// The dial in use receives, and transmits unless the set is split.
    fn choose(&mut self, dial: usize, at: Time) {
        let transmit = if self.split { 1 - dial } else { dial };
        self.radio.change(at, Cause::Command, |panel| (panel.receive, panel.transmit) = (dial, transmit));
    }
}

/// Whether the opcode sets something.
fn is_known(opcode: u8) -> bool {
    matches!(opcode, 0x00 | 0x01 | 0x02 | 0x07 | 0x09 | 0x0A | 0x0B | 0x80 | 0x81 | 0x82 | 0x85)
}

/// A tone in tenths of hertz.
fn tone(digits: [u8; 2]) -> Option<Tone> {
    Tone::from_tenths(decimal(&digits)?.try_into().ok()?).ok()
}

impl Device for FiveByte {
    fn hear(&mut self, byte: u8, at: Time) {
        let Some(command) = self.counting.hear(byte, at) else { return };
        self.radio.handles.record.count(|counts| counts.commands += 1);
        if let Some(answer) = self.obey(&command, at) {
            self.voice.answer(answer, at);
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
