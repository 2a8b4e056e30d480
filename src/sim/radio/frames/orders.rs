//! What the frame radio does for each command. Codes beyond the design's examples are from
//! memory of radios' manuals.

use super::framing::{frequency, frequency_bytes};
use super::{Frames, Reply, Roles};
use crate::sim::Cause;
use crate::sim::radio::Vfo;
use crate::sim::radio::decimal::{decimal, decimal_bytes};
use crate::sim::radio::{Panel, meter};
use crate::terms::{Hertz, Mode, Time, Tone};

/// The meter's S9 and end.
const METER: (f64, f64) = (120.0, 241.0);

impl Frames {
    pub(super) fn obey(&mut self, content: &[u8], at: Time) -> Reply {
        if self.keys_or_is_forbidden(content, at) {
            return Reply::Done;
        }
        if self.radio.refuses_all() {
            return Reply::Refused;
        }
        match self.answer(content, at) {
            Some(data) => Reply::Answer([content, &data].concat()),
            None if self.radio.refuses_sets(at) => Reply::Refused,
            None => self.set(content, at).into(),
        }
    }

    /// Key commands work, as on a real radio; the record holds them against the sender.
    fn keys_or_is_forbidden(&mut self, content: &[u8], at: Time) -> bool {
        match content {
            [0x1C, 0x00, on, ..] => self.radio.key(at, *on != 0, content),
            // Memory write, Morse, power, tuner, voice memory.
            [0x09, ..] | [0x17, ..] | [0x18, ..] | [0x1C, 0x01, _, ..] | [0x28, ..] => {
                self.radio.forbidden(at, content);
            }
            _ => return false,
        }
        true
    }

    /// The data that answers a question; `None` if it is none.
    fn answer(&self, content: &[u8], at: Time) -> Option<Vec<u8>> {
        let vfo = self.radio.panel().vfos[self.selected()];
        Some(match content {
            [0x03] => frequency_bytes(vfo.hertz).into(),
            [0x04] => vec![mode_byte(vfo.mode), 0x01],
            [0x07, 0xD2] if self.roles.duplex => vec![self.roles.band as u8],
            [0x0F] => vec![u8::from(self.roles.split)],
            [0x15, 0x01] => vec![u8::from(meter::is_open(self.radio.signal_dbm(at)))],
            [0x15, 0x02] => {
                let needle = meter::reading(self.radio.signal_dbm(at), METER.0, METER.1);
                decimal_bytes::<2>(needle.into()).into()
            }
            [0x16, 0x42] => vec![u8::from(vfo.tone_on)],
            [0x16, 0x43] => vec![u8::from(vfo.tone_squelch)],
            [0x16, 0x5A] if self.roles.duplex => vec![u8::from(self.roles.satellite_function)],
            [0x1B, 0x00] => {
                let tenths = vfo.tone.map_or(0, Tone::tenths);
                decimal_bytes::<3>(tenths.into()).into()
            }
            [0x1C, 0x00] => vec![u8::from(self.radio.panel().keyed)],
            [0x21, 0x01] => vec![u8::from(self.radio.panel().offsets.rit != Hertz(0))],
            [0x21, 0x02] => vec![u8::from(self.radio.panel().offsets.xit != Hertz(0))],
            _ => return None,
        })
    }

    fn set(&mut self, content: &[u8], at: Time) -> Option<()> {
        match content {
            [0x05, digits @ ..] => self.tune(frequency(digits)?, at),
            [0x06, code] | [0x06, code, _] => {
                let mode = mode(*code)?;
                self.set_vfo(at, |vfo| vfo.mode = mode)
            }
            [0x07, choice] => self.choose(*choice, at),
            [0x0F, 0x10] => self.set_panel(at, |panel| panel.offsets.shift = Hertz(0)),
            [0x0F, on @ (0 | 1)] => self.set_roles(at, |roles| roles.split = *on == 1),
            [0x16, 0x42, on @ (0 | 1)] => self.set_vfo(at, |vfo| vfo.tone_on = *on == 1),
            [0x16, 0x43, on @ (0 | 1)] => self.set_vfo(at, |vfo| vfo.tone_squelch = *on == 1),
            [0x16, 0x5A, on @ (0 | 1)] if self.roles.duplex => {
                self.set_roles(at, |roles| roles.satellite_function = *on == 1)
            }
            [0x1B, 0x00, digits @ ..] if (2..=3).contains(&digits.len()) => {
                let tone = Tone::from_tenths(decimal(digits)?.try_into().ok()?).ok()?;
                self.set_vfo(at, |vfo| vfo.tone = Some(tone))
            }
            [0x21, 0x01, 0x00] => self.set_panel(at, |panel| panel.offsets.rit = Hertz(0)),
            [0x21, 0x02, 0x00] => self.set_panel(at, |panel| panel.offsets.xit = Hertz(0)),
            _ => None,
        }
    }

    /// Tunes the selected dial, unless the other band of the radio already sits there.
    fn tune(&mut self, hertz: Hertz, at: Time) -> Option<()> {
        let other = self.radio.panel().vfos[self.roles.dial_of(1 - self.roles.band)].hertz;
        if self.roles.duplex && self.radio.band_of(hertz) == self.radio.band_of(other) {
            return None;
        }
        self.radio.tune(at, self.selected(), hertz)
    }

    fn choose(&mut self, choice: u8, at: Time) -> Option<()> {
        match choice {
            0x00 | 0x01 => {
                self.set_roles(at, |roles| roles.dial[roles.place(roles.band)] = usize::from(choice))
            }
            0xB0 => self.set_roles(at, |roles| roles.exchanged = !roles.exchanged),
            0xD0 => self.set_roles(at, |roles| roles.band = 0),
            0xD1 if self.roles.duplex => self.set_roles(at, |roles| roles.band = 1),
            _ => None,
        }
    }

    fn set_roles(&mut self, at: Time, set: impl FnOnce(&mut Roles)) -> Option<()> {
        set(&mut self.roles);
        let (receive, transmit) = self.roles.receive_and_transmit();
        self.set_panel(at, |panel| (panel.receive, panel.transmit) = (receive, transmit))
    }

    fn set_vfo(&mut self, at: Time, set: impl FnOnce(&mut Vfo)) -> Option<()> {
        let dial = self.selected();
        self.set_panel(at, |panel| set(&mut panel.vfos[dial]))
    }

    fn set_panel(&mut self, at: Time, set: impl FnOnce(&mut Panel)) -> Option<()> {
        self.radio.change(at, Cause::Command, set);
        Some(())
    }
}

/// The mode of a code.
fn mode(code: u8) -> Option<Mode> {
    Some(match code {
        0x00 => Mode::Lsb,
        0x01 => Mode::Usb,
        0x02 => Mode::Am,
        0x03 => Mode::Cw,
        0x05 => Mode::Fm,
        _ => return None,
    })
}

/// The code of a mode.
fn mode_byte(mode: Mode) -> u8 {
    match mode {
        Mode::Lsb => 0x00,
        Mode::Usb => 0x01,
        Mode::Am => 0x02,
        Mode::Cw => 0x03,
        Mode::Fm => 0x05,
    }
}
