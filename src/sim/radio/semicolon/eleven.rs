//! The eleven-digit layout's own commands.

use super::{Reply, Semicolon, answer, digits, meter, mode, mode_digit};
use crate::sim::Cause;
use crate::terms::{Hertz, Time};

/// The meter's S9 and end; from memory of radios' manuals.
const METER: (f64, f64) = (15.0, 30.0);

/// The state of a radio whose second receiver is listened to.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct SecondReceiver {
    /// The main receiver's dial.
    main: usize,
    /// Whether mode and tone commands go to the second receiver.
    controlled: bool,
}

/// The second receiver's dial.
const SECOND: usize = 2;

impl Semicolon {
    /// Obeys what belongs to this layout; `None` where the word does not.
    pub(super) fn obey_eleven(&mut self, word: &str, parameters: &str, at: Time) -> Option<Reply> {
        Some(match (word, parameters) {
            ("IF", "") => answer(self.status_text()),
            ("SM", "0") => {
                let needle = meter::reading(self.radio.signal_dbm(at), METER.0, METER.1);
                answer(format!("SM0{needle:04}"))
            }
            ("FR", "") => answer(format!("FR{}", self.main_dial())),
            ("FT", "") => answer(format!("FT{}", self.radio.panel().transmit)),
            ("FR", "0" | "1") => self.choose(parameters == "1", true, at),
            ("FT", "0" | "1") => self.choose(parameters == "1", false, at),
            ("DC", "") => self.directions(),
            ("DC", "00" | "01" | "10" | "11") => self.direct(parameters, at),
            ("OS", "") => answer(format!("OS{}", self.shift_code())),
            ("OS", _) => self.set_shift(parameters, at),
            ("MD" | "TN" | "TO" | "CT", _) => self.receiving_dial(word, parameters, at),
            _ => return None,
        })
    }

    /// The dial that `FR` chose.
    fn main_dial(&self) -> usize {
        self.second.map_or(self.radio.panel().receive, |second| second.main)
    }

    /// The dial that mode and tone commands go to.
    fn controlled_dial(&self) -> usize {
        if self.second.is_some_and(|second| second.controlled) { SECOND } else { self.dial_in_use() }
    }

    /// The dial that the main display shows.
    fn dial_in_use(&self) -> usize {
        self.second.map_or(self.radio.dial_in_use(), |second| second.main)
    }

    /// `FR` takes the transmitter along (it cancels split), `FT` moves the transmitter alone.
    fn choose(&mut self, second: bool, receive_too: bool, at: Time) -> Reply {
        if self.radio.refuses_sets(at) {
            return Reply::Refused;
        }
        let dial = usize::from(second);
        let receive = match (&mut self.second, receive_too) {
            (Some(second), true) => {
                second.main = dial;
                SECOND
            }
            (None, true) => dial,
            (_, false) => self.radio.panel().receive,
        };
        self.radio.change(at, Cause::Command, |panel| (panel.receive, panel.transmit) = (receive, dial));
        Reply::Done
    }

    /// Band control, from memory: first digit the band that transmits, second the one that mode
    /// and tone commands go to; 0 main, 1 second receiver.
    fn direct(&mut self, parameters: &str, at: Time) -> Reply {
        let main = self.main_dial();
        let Some(second) = &mut self.second else { return Reply::Refused };
        if self.radio.refuses_sets(at) {
            return Reply::Refused;
        }
        second.controlled = parameters.ends_with('1');
        let transmit = if parameters.starts_with('1') { SECOND } else { main };
        self.radio.change(at, Cause::Command, |panel| panel.transmit = transmit);
        Reply::Done
    }

    fn directions(&self) -> Reply {
        let Some(second) = self.second else { return Reply::Refused };
        let transmits = self.radio.panel().transmit == SECOND;
        answer(format!("DC{}{}", u8::from(transmits), u8::from(second.controlled)))
    }

    /// Mode and tone act on the dial that receives, or that `DC` chose.
    fn receiving_dial(&mut self, word: &str, parameters: &str, at: Time) -> Reply {
        let dial = self.controlled_dial();
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
        let vfo = &self.radio.panel().vfos[self.controlled_dial()];
        match word {
            "MD" => format!("MD{}", mode_digit(vfo.mode)),
            "TN" => format!("TN{:02}", self.tone_number()),
            "TO" => format!("TO{}", u8::from(vfo.tone_on)),
            _ => format!("CT{}", u8::from(vfo.tone_squelch)),
        }
    }

    fn tone_number(&self) -> usize {
        let vfo = &self.radio.panel().vfos[self.controlled_dial()];
        vfo.tone.and_then(|tone| self.tones.number(tone)).unwrap_or(0)
    }

    /// 38 characters with the semicolon: frequency, five blanks, RIT, memory, transmit flag
    /// (index 28), mode (29), dial, scan, split, tone, tone number, shift. The order beyond the
    /// two indices is from memory of radios' manuals.
    fn status_text(&self) -> String {
        let panel = self.radio.panel();
        let vfo = &panel.vfos[self.dial_in_use()];
        format!(
            "IF{:011}     {:+05}{}{}000{}{}{}0{}{}{:02}{}",
            vfo.hertz.0,
            panel.offsets.rit.0.clamp(-9_999, 9_999),
            u8::from(panel.offsets.rit != Hertz(0)),
            u8::from(panel.offsets.xit != Hertz(0)),
            u8::from(panel.keyed),
            mode_digit(vfo.mode),
            self.dial_in_use(),
            u8::from(self.main_dial() != panel.transmit),
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
