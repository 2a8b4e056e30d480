//! A radio that speaks ASCII ending in `;`: two letters, parameters, semicolon. It is strict:
//! what it does not know exactly is answered `?;`, a good set is silent.

mod eleven;
mod nine;

use super::{RadioSettings, Reply, ToneTable, Transceiver, Vfo, meter};
use crate::sim::device::Voice;
use crate::sim::{Cause, Device, Handles, Utterance};
use crate::terms::{Hertz, Mode, Time};

/// No command is longer; from memory of the language.
const LONGEST: usize = 48;
/// Morse, voice memory, tuner, power, memory write; from memory of the language.
const FORBIDDEN: [&str; 7] = ["KY", "PB", "VR", "AC", "PS", "MW", "MA"];
/// Offset of the automatic repeater shift.
const SHIFT: Hertz = Hertz(600_000);

/// The two layouts of parameters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    /// Frequencies of eleven digits; `MD4;`, `TN08;`, `TO1;`; `FR` and `FT` choose dials.
    Eleven,
    /// Frequencies of nine digits; the receiver comes first (`MD04;`, `CN00008;`, `CT02;`);
    /// the first dial receives, `ST` chooses which one transmits.
    Nine,
}

/// How a semicolon radio is made.
#[derive(Debug, Clone)]
pub struct SemicolonSettings {
    /// The thing itself.
    pub radio: RadioSettings,
    /// Its layout of parameters.
    pub layout: Layout,
    /// How it numbers tones.
    pub tones: ToneTable,
    /// Whether the eleven-digit radio has a second receiver, tuned by `FC`. It is then the one
    /// that is listened to, and `DC` says where mode and tone commands go.
    pub second_receiver: bool,
}

impl SemicolonSettings {
    /// The usual radio of this layout.
    pub fn new(layout: Layout) -> Self {
        let tones = match layout {
            Layout::Eleven => ToneTable::ThirtyEight,
            Layout::Nine => ToneTable::Fifty,
        };
        Self { radio: RadioSettings::default(), layout, tones, second_receiver: false }
    }
}

/// The radio.
pub struct Semicolon {
    radio: Transceiver,
    voice: Voice,
    layout: Layout,
    tones: ToneTable,
    second: Option<eleven::SecondReceiver>,
    reports: bool,
    heard: Vec<u8>,
}

impl Semicolon {
    /// Switched on, dial A in use.
    pub fn new(settings: SemicolonSettings, handles: Handles) -> Self {
        let SemicolonSettings { radio, layout, tones, second_receiver } = settings;
        let [a, b] = radio.opening;
        let second = second_receiver.then(eleven::SecondReceiver::default);
        let (vfos, receive) = if second_receiver { (vec![a, b, b], 2) } else { (vec![a, b], 0) };
        Self {
            voice: Voice::new(radio.thinking_s),
            reports: radio.reports,
            radio: Transceiver::new(radio, handles, vfos, (receive, 0)),
            layout,
            tones,
            second,
            heard: Vec::new(),
        }
    }

    fn obey(&mut self, command: &[u8], at: Time) -> Reply {
        self.radio.handles.record.count(|counts| counts.commands += 1);
        let text = std::str::from_utf8(command).unwrap_or("");
        let Some((word, parameters)) = text.split_at_checked(2) else { return Reply::Refused };
        if let Some(reply) = self.obey_what_must_never_be_said(word, parameters, command, at) {
            return reply;
        }
        if self.radio.refuses_all() {
            return Reply::Refused;
        }
        let own = match self.layout {
            Layout::Eleven => self.obey_eleven(word, parameters, at),
            Layout::Nine => self.obey_nine(word, parameters, at),
        };
        own.unwrap_or_else(|| self.obey_common(word, parameters, at))
    }

    /// Key commands work, as on a real radio; the record holds them against the sender.
    fn obey_what_must_never_be_said(
        &mut self,
        word: &str,
        parameters: &str,
        command: &[u8],
        at: Time,
    ) -> Option<Reply> {
        if FORBIDDEN.contains(&word) {
            self.radio.forbidden(at, command);
            return Some(Reply::Refused);
        }
        let on = match (self.layout, word, parameters) {
            (Layout::Nine, "TX", "0") | (Layout::Eleven, "RX", _) => false,
            (Layout::Nine, "TX", "") => {
                // A question here, but a key command on the radio that it may be swapped for.
                self.radio.key(at, self.radio.panel().keyed, command);
                return Some(answer(format!("TX{}", u8::from(self.radio.panel().keyed))));
            }
            (_, "TX", _) => true,
            _ => return None,
        };
        self.radio.key(at, on, command);
        Some(Reply::Done)
    }

    fn obey_common(&mut self, word: &str, parameters: &str, at: Time) -> Reply {
        match (word, parameters) {
            // From memory of manuals: three digits here, four in the other layout.
            ("ID", "") if self.layout == Layout::Eleven => answer("ID990".to_owned()),
            ("ID", "") => answer("ID0990".to_owned()),
            ("FA", _) => self.frequency("FA", 0, parameters, at),
            ("FB", _) => self.frequency("FB", 1, parameters, at),
            ("FC", _) if self.second.is_some() => self.frequency("FC", 2, parameters, at),
            ("AI", "") => answer(format!("AI{}", u8::from(self.reports))),
            ("AI", "0" | "1" | "2") => {
                self.reports = parameters != "0";
                Reply::Done
            }
            ("BY", "") => answer(format!("BY{}", u8::from(meter::is_open(self.radio.signal_dbm(at))))),
            ("RT", "") => answer(format!("RT{}", u8::from(self.radio.panel().offsets.rit != Hertz(0)))),
            ("XT", "") => answer(format!("XT{}", u8::from(self.radio.panel().offsets.xit != Hertz(0)))),
            ("RT", "0") | ("RC", "") => self.set(at, |radio| {
                radio.change(at, Cause::Command, |panel| panel.offsets.rit = Hertz(0));
                Some(())
            }),
            ("XT", "0") => self.set(at, |radio| {
                radio.change(at, Cause::Command, |panel| panel.offsets.xit = Hertz(0));
                Some(())
            }),
            _ => Reply::Refused,
        }
    }

    fn frequency(&mut self, word: &str, dial: usize, parameters: &str, at: Time) -> Reply {
        if parameters.is_empty() {
            return Reply::Answer(self.frequency_text(word, dial).into_bytes());
        }
        let hertz = digits(parameters, self.layout.digits());
        self.set(at, |radio| radio.tune(at, dial, Hertz(hertz?)))
    }

    fn frequency_text(&self, word: &str, dial: usize) -> String {
        let (hertz, width) = (self.radio.panel().vfos[dial].hertz.0, self.layout.digits());
        format!("{word}{hertz:0width$}")
    }

    /// Does something that the radio may refuse to do while it transmits.
    fn set(&mut self, at: Time, act: impl FnOnce(&mut Transceiver) -> Option<()>) -> Reply {
        if self.radio.refuses_sets(at) {
            return Reply::Refused;
        }
        act(&mut self.radio).into()
    }

    fn set_vfo(&mut self, at: Time, dial: usize, act: impl FnOnce(&mut Vfo) -> Option<()>) -> Reply {
        self.set(at, |radio| radio.change_vfo(at, dial, act))
    }

    /// Automatic repeater shift: 0 simplex, 1 up, 2 down.
    fn set_shift(&mut self, code: &str, at: Time) -> Reply {
        let shift = match code {
            "0" => Hertz(0),
            "1" => SHIFT,
            "2" => Hertz(-SHIFT.0),
            _ => return Reply::Refused,
        };
        self.set(at, |radio| {
            radio.change(at, Cause::Command, |panel| panel.offsets.shift = shift);
            Some(())
        })
    }

    fn shift_code(&self) -> u8 {
        match self.radio.panel().offsets.shift.0 {
            0 => 0,
            1.. => 1,
            _ => 2,
        }
    }

    fn reply(&mut self, reply: Reply, at: Time) {
        match reply {
            Reply::Done => {}
            Reply::Answer(mut text) => {
                text.push(b';');
                self.voice.answer(text, at);
            }
            Reply::Refused => {
                self.radio.handles.record.count(|counts| counts.refused += 1);
                self.voice.answer("?;", at);
            }
        }
    }
}

impl Device for Semicolon {
    fn hear(&mut self, byte: u8, at: Time) {
        match byte {
            b';' => {
                let command = std::mem::take(&mut self.heard);
                let reply = self.obey(&command, at);
                self.reply(reply, at);
            }
            _ if self.heard.len() >= LONGEST => {
                self.heard.clear();
                self.voice.answer("E;", at);
            }
            _ => self.heard.push(byte),
        }
    }

    fn advance(&mut self, now: Time) {
        for turned_at in self.radio.let_the_operator_act(now) {
            if self.reports {
                let dial = self.radio.panel().receive;
                let report = self.frequency_text(["FA", "FB", "FC"][dial], dial);
                self.voice.announce(report + ";", turned_at);
            }
        }
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

impl Layout {
    fn digits(self) -> usize {
        match self {
            Layout::Eleven => 11,
            Layout::Nine => 9,
        }
    }
}

/// An answer in text, without its semicolon.
fn answer(text: String) -> Reply {
    Reply::Answer(text.into_bytes())
}

/// A number of exactly `width` digits.
fn digits(text: &str, width: usize) -> Option<i64> {
    let good = text.len() == width && text.bytes().all(|byte| byte.is_ascii_digit());
    text.parse().ok().filter(|_| good)
}

/// The mode of a digit, in both layouts.
fn mode(digit: &str) -> Option<Mode> {
    Some(match digit {
        "1" => Mode::Lsb,
        "2" => Mode::Usb,
        "3" => Mode::Cw,
        "4" => Mode::Fm,
        "5" => Mode::Am,
        _ => return None,
    })
}

/// The digit of a mode.
fn mode_digit(mode: Mode) -> u8 {
    match mode {
        Mode::Lsb => 1,
        Mode::Usb => 2,
        Mode::Cw => 3,
        Mode::Fm => 4,
        Mode::Am => 5,
    }
}

#[cfg(test)]
mod tests;
