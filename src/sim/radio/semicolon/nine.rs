//! The nine-digit layout's own commands: the first parameter names the receiver, 0 or 1.

use super::{Reply, Semicolon, answer, digits, meter, mode, mode_digit};
use crate::sim::Cause;
use crate::terms::Time;

/// The meter's S9 and end; from memory of radios' manuals.
const METER: (f64, f64) = (130.0, 255.0);

impl Semicolon {
    /// Obeys what belongs to this layout; `None` where the word does not.
    pub(super) fn obey_nine(&mut self, word: &str, parameters: &str, at: Time) -> Option<Reply> {
        Some(match (word, parameters) {
            ("SM", "0") => {
                let needle = meter::reading(self.radio.signal_dbm(at), METER.0, METER.1);
                answer(format!("SM0{needle:03}"))
            }
            ("ST", "") => answer(format!("ST{}", self.radio.panel().transmit)),
            ("ST", "0" | "1") => self.split(parameters == "1", at),
            ("MD" | "CT" | "CN" | "OS", _) => match parameters.split_at_checked(1) {
                Some(("0", value)) => self.dial(word, 0, value, at),
                Some(("1", value)) => self.dial(word, 1, value, at),
                _ => Reply::Refused,
            },
            _ => return None,
        })
    }

    fn split(&mut self, on: bool, at: Time) -> Reply {
        self.set(at, |radio| {
            radio.change(at, Cause::Command, |panel| panel.transmit = usize::from(on));
            Some(())
        })
    }

    fn dial(&mut self, word: &str, dial: usize, value: &str, at: Time) -> Reply {
        if value.is_empty() || (word == "CN" && value == "0") {
            return answer(self.dial_text(word, dial));
        }
        if word == "OS" {
            return self.set_shift(value, at);
        }
        let tones = self.tones;
        self.set_vfo(at, dial, |vfo| {
            match (word, value) {
                ("MD", _) => vfo.mode = mode(value)?,
                ("CN", _) => vfo.tone = Some(tones.tone(tone_number(value)?)?),
                (_, "0") => (vfo.tone_on, vfo.tone_squelch) = (false, false),
                (_, "1") => (vfo.tone_on, vfo.tone_squelch) = (true, true),
                (_, "2") => (vfo.tone_on, vfo.tone_squelch) = (true, false),
                _ => return None,
            }
            Some(())
        })
    }

    fn dial_text(&self, word: &str, dial: usize) -> String {
        let vfo = &self.radio.panel().vfos[dial];
        match word {
            "MD" => format!("MD{dial}{}", mode_digit(vfo.mode)),
            "CN" => {
                let number = vfo.tone.and_then(|tone| self.tones.number(tone)).unwrap_or(0);
                format!("CN{dial}0{number:03}")
            }
            "CT" => {
                let code = if vfo.tone_squelch { 1 } else { 2 * u8::from(vfo.tone_on) };
                format!("CT{dial}{code}")
            }
            _ => format!("OS{dial}{}", self.shift_code()),
        }
    }
}

/// The number in `0nnn`; the zero says that it is a tone and not a digital code.
fn tone_number(value: &str) -> Option<usize> {
    digits(value.strip_prefix('0')?, 3).map(|number| number as usize)
}
