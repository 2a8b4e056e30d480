//! A healthy device with an ear, which can be given ailments of its own.

use std::sync::{Arc, Mutex};

use beamhand::sim::{Device, Fault, Handles, Utterance};
use beamhand::terms::{Time, later};

/// What is wrong with a device.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Ailment {
    /// A fault of the simulated equipment.
    Fault(Fault),
    /// It talks nonsense all the time, as fast as the line carries it.
    Babble,
    /// It refuses all the time, asked or not.
    RefusalFlood,
    /// Its answers come from this bus address.
    OtherAddress(u8),
    /// It takes frequencies and stays where it is (words that end in `;`).
    DialStays,
    /// The cable is out.
    CableOut,
}

pub(crate) type Ill = Arc<Mutex<Option<Ailment>>>;
pub(crate) type Heard = Arc<Mutex<Vec<(Time, u8)>>>;

/// How often a flood adds a piece, and how long it is: what 9600 baud carry.
const PIECE_S: f64 = 0.05;
const PIECE: usize = 48;

pub(crate) struct Patient {
    device: Box<dyn Device>,
    ill: Ill,
    heard: Heard,
    word: Vec<u8>,
    babbled: Option<Time>,
    said: Vec<Utterance>,
    chance: u32,
}

impl Patient {
    pub(crate) fn new(device: Box<dyn Device>) -> (Self, Ill, Heard) {
        let (ill, heard) = (Ill::default(), Heard::default());
        let (said, word) = (Vec::new(), Vec::new());
        let patient =
            Self { device, ill: ill.clone(), heard: heard.clone(), word, babbled: None, said, chance: 1 };
        (patient, ill, heard)
    }

    fn ill(&self) -> Option<Ailment> {
        *self.ill.lock().unwrap()
    }

    /// A byte of a simple generator (Numerical Recipes' constants, from memory).
    fn any_byte(&mut self) -> u8 {
        self.chance = self.chance.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (self.chance >> 24) as u8
    }

    fn babble(&mut self, now: Time) {
        let refuses = match self.ill() {
            Some(Ailment::Babble) => false,
            Some(Ailment::RefusalFlood) => true,
            _ => return,
        };
        if self.babbled.is_some_and(|at| later(at, PIECE_S) > now) {
            return;
        }
        self.babbled = Some(now);
        let bytes =
            if refuses { b"?;".repeat(PIECE / 2) } else { (0..PIECE).map(|_| self.any_byte()).collect() };
        self.said.push(Utterance { at: now, bytes });
    }
}

impl Device for Patient {
    fn hear(&mut self, byte: u8, at: Time) {
        self.heard.lock().unwrap().push((at, byte));
        if self.ill() != Some(Ailment::DialStays) {
            return self.device.hear(byte, at);
        }
        self.word.push(byte);
        if byte == b';' {
            let word = std::mem::take(&mut self.word);
            let is_frequency = word.len() == 14 && word[0] == b'F';
            word.iter().filter(|_| !is_frequency).for_each(|byte| self.device.hear(*byte, at));
        }
    }

    fn advance(&mut self, now: Time) {
        self.device.advance(now);
        self.babble(now);
    }

    fn next_event(&self) -> Option<Time> {
        let floods = matches!(self.ill(), Some(Ailment::Babble | Ailment::RefusalFlood));
        let babble = self.babbled.filter(|_| floods).map(|at| later(at, PIECE_S));
        [babble, self.device.next_event()].into_iter().flatten().min()
    }

    fn say(&mut self) -> Vec<Utterance> {
        let mut said = self.device.say();
        if let Some(Ailment::OtherAddress(address)) = self.ill() {
            let from = said.iter_mut().filter_map(|utterance| utterance.bytes.get_mut(3));
            from.for_each(|byte| *byte = address);
        }
        said.append(&mut self.said);
        said
    }

    fn handles(&self) -> &Handles {
        self.device.handles()
    }
}

/// What was heard, cut at the ends of commands; each with the time of its last byte.
pub(crate) fn frames(heard: &Heard) -> Vec<(Time, String)> {
    let (mut frames, mut text) = (Vec::new(), String::new());
    for (at, byte) in heard.lock().unwrap().iter() {
        match byte {
            b';' | b'\r' | b'\n' | 0xFD => frames.push((*at, std::mem::take(&mut text))),
            byte => text.push(char::from(*byte)),
        }
    }
    frames
}
