//! The eleven-digit layout's own commands.

use super::{Reply, Semicolon, answer, digits, meter, mode, mode_digit};
use crate::sim::Cause;
use crate::terms::{Hertz, Time};

/// The meter's S9 and end; from memory of radios' manuals.
const METER: (f64, f64) = (15.0, 30.0);

impl Semicolon {
    /// Obeys what belongs to this layout; `None` where the word does not.
    pub(super) fn obey_eleven(&mut self, word: &str, parameters: &str, at: Time) -> Option<Reply> {
        Some(match (word, parameters) {
            ("IF", "") => answer(self.status_text()),
            ("SM", "0") => {
                let needle = meter::reading(self.radio.signal_dbm(at), METER.0, METER.1);
                answer(format!("SM0{needle:04}"))
            }
            ("FR", "") => answer(format!("FR{}", self.radio.panel().receive)),
            ("FT", "") => answer(format!("FT{}", self.radio.panel().transmit)),
            ("FR", "0" | "1") => self.choose(parameters == "1", true, at),
            ("FT", "0" | "1") => self.choose(parameters == "1", false, at),
            ("OS", "") => answer(format!("OS{}", self.shift_code())),
            ("OS", _) => self.set_shift(parameters, at),
            ("MD" | "TN" | "TO" | "CT", _) => self.receiving_dial(word, parameters, at),
            _ => return None,
        })
    }

    /// `FR` takes the transmitter along (it cancels split), `FT` moves the transmitter alone.
    fn choose(&mut self, second: bool, receive_too: bool, at: Time) -> Reply {
        let dial = usize::from(second);
        self.set(at, |radio| {
            radio.change(at, Cause::Command, |panel| {
                panel.transmit = dial;
                panel.receive = if receive_too { dial } else { panel.receive };
            });
            Some(())
        })
    }

    /// Mode and tone act on the dial that receives.
    fn receiving_dial(&mut self, word: &str, parameters: &str, at: Time) -> Reply {
        let dial = self.radio.panel().receive;
        if parameters.is_empty() {
            return answer(self.receiving_dial_text(word));
        }
        let tones = self.tones;
        self.set_vfo(at, dial, |vfo| {
            match word {
                "MD" => vfo.mode = mode(parameters)?,
                "TN" => vfo.tone = Some(tones.tone(digits(parameters, 2)? as usize)?),
                "TO" => vfo.tone_on = switch(parameters)?,
                _ => vfo.tone_squelch = switch(parameters)?,
            }
            Some(())
        })
    }

    fn receiving_dial_text(&self, word: &str) -> String {
        let panel = self.radio.panel();
        let vfo = &panel.vfos[panel.receive];
        match word {
            "MD" => format!("MD{}", mode_digit(vfo.mode)),
            "TN" => format!("TN{:02}", self.tone_number()),
            "TO" => format!("TO{}", u8::from(vfo.tone_on)),
            _ => format!("CT{}", u8::from(vfo.tone_squelch)),
        }
    }

    fn tone_number(&self) -> usize {
        let panel = self.radio.panel();
        panel.vfos[panel.receive].tone.and_then(|tone| self.tones.number(tone)).unwrap_or(0)
    }

    /// 38 characters with the semicolon: frequency, five blanks, RIT, memory, transmit flag
    /// (index 28), mode (29), dial, scan, split, tone, tone number, shift. The order beyond the
    /// two indices is from memory of radios' manuals.
    fn status_text(&self) -> String {
        let panel = self.radio.panel();
        let vfo = &panel.vfos[panel.receive];
        format!(
            "IF{:011}     {:+05}{}{}000{}{}{}0{}{}{:02}{}",
            vfo.hertz.0,
            panel.rit.0.clamp(-9_999, 9_999),
            u8::from(panel.rit != Hertz(0)),
            u8::from(panel.xit != Hertz(0)),
            u8::from(panel.keyed),
            mode_digit(vfo.mode),
            panel.receive,
            u8::from(panel.receive != panel.transmit),
            u8::from(vfo.tone_on),
            self.tone_number(),
            self.shift_code(),
        )
    }
}

fn switch(parameters: &str) -> Option<bool> {
    match parameters {
        "0" => Some(false),
        "1" => Some(true),
        _ => None,
    }
}
