//! A radio that speaks frames, `FE FE to from command data FD`, on a bus that it may share.
//!
//! It has a main and a sub band that can't sit in one band of frequencies, and two dials in
//! each. Without its satellite function main transmits and sub receives; with it the roles are
//! exchanged; with split both are main's. A radio without duplex has the main band only, and on the
//! air commands go to the dial that transmits.

mod framing;
mod orders;

use framing::{Frame, Framing};

use super::{RadioSettings, Reply, Transceiver};
use crate::sim::device::Voice;
use crate::sim::{Device, Fault, Handles, Utterance};
use crate::terms::Time;

/// The address that everybody listens to.
const EVERYBODY: u8 = 0x00;

/// How a frame radio is made.
#[derive(Debug, Clone)]
pub struct FramesSettings {
    /// The thing itself.
    pub radio: RadioSettings,
    /// Its address on the bus.
    pub address: u8,
    /// Whether its satellite function is on at the start.
    pub satellite_function: bool,
}

impl Default for FramesSettings {
    /// At address 0x5A, which was picked at random.
    fn default() -> Self {
        Self { radio: RadioSettings::default(), address: 0x5A, satellite_function: false }
    }
}

/// The radio.
pub struct Frames {
    radio: Transceiver,
    voice: Voice,
    framing: Framing,
    address: u8,
    roles: Roles,
}

/// Which dial does what. The dials themselves stay where they are (A and B of one band, then A
/// and B of the other), and an exchange is seen as the change of roles that it is.
#[derive(Debug, Clone, Copy)]
struct Roles {
    /// Whether there is a sub band.
    duplex: bool,
    /// The band that commands go to: 0 main, 1 sub.
    band: usize,
    /// The dial in use of each band as it was at the start: 0 A, 1 B.
    dial: [usize; 2],
    /// Whether main and sub (or A and B, where there is no sub) have changed places.
    exchanged: bool,
    split: bool,
    satellite_function: bool,
}

impl Roles {
    fn new(duplex: bool, satellite_function: bool) -> Self {
        Self { duplex, band: 0, dial: [0, 0], exchanged: false, split: false, satellite_function }
    }

    /// Where `band` was at the start.
    fn place(&self, band: usize) -> usize {
        if self.duplex { band ^ usize::from(self.exchanged) } else { 0 }
    }

    /// The dial in use of `band`.
    fn dial_of(&self, band: usize) -> usize {
        let place = self.place(band);
        let exchanged = self.exchanged && !self.duplex;
        2 * place + (self.dial[place] ^ usize::from(exchanged))
    }

    /// The dial that commands go to.
    fn selected(&self) -> usize {
        self.dial_of(self.band)
    }

    /// The dials that receive and transmit.
    fn receive_and_transmit(&self) -> (usize, usize) {
        let (main, sub) = (self.dial_of(0), self.dial_of(1));
        match (self.split, self.duplex, self.satellite_function) {
            (true, ..) => (main, main ^ 1),
            (false, false, _) => (main, main),
            (false, true, false) => (sub, main),
            (false, true, true) => (main, sub),
        }
    }
}

impl Frames {
    /// Switched on, main band and dial A selected.
    pub fn new(settings: FramesSettings, handles: Handles) -> Self {
        let FramesSettings { radio, address, satellite_function } = settings;
        let [main, sub] = radio.opening;
        let vfos = if radio.duplex { vec![main, main, sub, sub] } else { vec![main, sub] };
        let roles = Roles::new(radio.duplex, satellite_function);
        let voice = Voice::new(radio.thinking_s);
        let radio = Transceiver::new(radio, handles, vfos, roles.receive_and_transmit());
        Self { radio, voice, framing: Framing::default(), address, roles }
    }

    /// The dial that commands go to.
    fn selected(&self) -> usize {
        if self.roles.duplex { self.roles.selected() } else { self.radio.dial_in_use() }
    }

    fn take(&mut self, frame: &Frame, at: Time) {
        if frame.from == self.address || ![self.address, EVERYBODY].contains(&frame.to) {
            return;
        }
        self.radio.handles.record.count(|counts| counts.commands += 1);
        let content = match self.obey(&frame.content, at) {
            Reply::Done => vec![0xFB],
            Reply::Answer(content) => content,
            Reply::Refused => {
                self.radio.handles.record.count(|counts| counts.refused += 1);
                vec![0xFA]
            }
        };
        if frame.to != EVERYBODY {
            let answer = Frame { to: frame.from, from: self.said_address(), content };
            self.voice.answer(answer.encode(), at);
        }
    }

    /// Tells everybody where the dial is, unasked.
    fn report(&mut self, at: Time) {
        let panel = self.radio.panel();
        let content = [&[0x00], &framing::frequency_bytes(panel.vfos[panel.receive].hertz)[..]].concat();
        let frame = Frame { to: EVERYBODY, from: self.said_address(), content };
        self.voice.announce(frame.encode(), at);
    }

    /// The address that it gives as its own.
    fn said_address(&self) -> u8 {
        let other = self.radio.handles.faults.is_on(Fault::OtherAddress);
        if other { self.address ^ 0x01 } else { self.address }
    }
}

impl Device for Frames {
    fn hear(&mut self, byte: u8, at: Time) {
        if let Some(frame) = self.framing.hear(byte) {
            self.take(&frame, at);
        }
    }

    fn advance(&mut self, now: Time) {
        for turned_at in self.radio.let_the_operator_act(now) {
            if self.radio.settings.reports {
                self.report(turned_at);
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

#[cfg(test)]
mod tests;
