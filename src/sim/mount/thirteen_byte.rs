//! A controller that speaks blocks of thirteen bytes, from `57` to `20`. A direction comes as
//! (degrees + 360) times the controller's own pulses per degree, in ASCII digits; it answers with
//! twelve bytes of raw digits, the last of each number being tenths.

use super::rotator::{MountSettings, Rotator, Which};
use crate::sim::chance::Chance;
use crate::sim::device::Voice;
use crate::sim::{Device, Fault, Handles, Utterance, Violation};
use crate::terms::Time;

/// What begins and what ends a block.
const HEAD: u8 = 0x57;
const TAIL: u8 = 0x20;
/// Bytes of a block to the controller.
const LENGTH: usize = 13;

/// How a controller of blocks is made.
#[derive(Debug, Clone, PartialEq)]
pub struct ThirteenByteSettings {
    /// The mount under it.
    pub mount: MountSettings,
    /// Pulses per degree of azimuth and of elevation. The controller counts in these whatever a
    /// command says.
    pub pulses: [u8; 2],
    /// A command to go is answered once in so many, at random; 0 for never.
    pub answers_one_in: u32,
}

impl Default for ThirteenByteSettings {
    /// Half degrees, and every third command answered.
    fn default() -> Self {
        Self { mount: MountSettings::default(), pulses: [2, 2], answers_one_in: 3 }
    }
}

/// The controller with its mount.
pub struct ThirteenByte {
    rotator: Rotator,
    voice: Voice,
    pulses: [u8; 2],
    answers_one_in: u32,
    chance: Chance,
    heard: Vec<u8>,
}

impl ThirteenByte {
    /// Switched on, at rest.
    pub fn new(settings: ThirteenByteSettings, handles: Handles) -> Self {
        let ThirteenByteSettings { mount, pulses, answers_one_in } = settings;
        let chance = Chance::new(mount.seed);
        let rotator = Rotator::new(mount, handles);
        let voice = Voice::new(rotator.thinking_s);
        Self { rotator, voice, pulses, answers_one_in, chance, heard: Vec::new() }
    }

    /// A block without its tail is none: the search for a head goes on behind its own.
    fn block(&mut self, byte: u8) -> Option<Vec<u8>> {
        self.heard.push(byte);
        while self.heard.first().is_some_and(|first| *first != HEAD) {
            self.heard.remove(0);
        }
        if self.heard.len() < LENGTH {
            return None;
        }
        let block = std::mem::take(&mut self.heard);
        if block.last() == Some(&TAIL) {
            return Some(block);
        }
        self.rotator.handles.record.count(|counts| counts.refused += 1);
        let next = block[1..].iter().position(|byte| *byte == HEAD);
        self.heard = next.map_or(Vec::new(), |next| block[1 + next..].to_vec());
        None
    }

    /// `None` for what it can't do.
    fn obey(&mut self, block: &[u8], at: Time) -> Option<()> {
        if !matches!(block[11], 0x0F | 0x1F | 0x2F) {
            self.rotator.handles.record.breached(at, Violation::ForbiddenCommand(block.into()));
            return Some(());
        }
        if self.rotator.handles.faults.is_on(Fault::Refusals) {
            return None;
        }
        match block[11] {
            0x2F => {
                let azimuth = degrees(&block[1..5], self.pulses[0])?;
                let elevation = degrees(&block[6..10], self.pulses[1])?;
                self.rotator.aim(Some(azimuth), Some(elevation), at);
                if !self.chance.once_in(self.answers_one_in) {
                    return Some(());
                }
            }
            0x0F => {
                self.rotator.stop(Which::Azimuth, at);
                self.rotator.stop(Which::Elevation, at);
            }
            _ => {}
        }
        self.tell(at);
        Some(())
    }

    fn tell(&mut self, at: Time) {
        let mut said = vec![HEAD];
        for (which, pulses) in [Which::Azimuth, Which::Elevation].into_iter().zip(self.pulses) {
            said.extend(digits(self.rotator.read(which, at), pulses));
            said.push(pulses);
        }
        said.push(TAIL);
        self.voice.answer(said, at);
    }
}

/// The degrees in four ASCII digits of pulses.
fn degrees(digits: &[u8], pulses: u8) -> Option<f64> {
    let plain = digits.iter().all(u8::is_ascii_digit);
    let number: f64 = std::str::from_utf8(digits).ok()?.parse().ok()?;
    plain.then(|| number / f64::from(pulses.max(1)) - 360.0)
}

/// Degrees + 360 as four raw digits, hundreds to tenths; the controller knows whole pulses only.
fn digits(degrees: f64, pulses: u8) -> [u8; 4] {
    let pulses = f64::from(pulses.max(1));
    let tenths = ((degrees + 360.0) * pulses).round() / pulses * 10.0;
    let tenths = tenths.round().clamp(0.0, 9_999.0) as u32;
    [1_000, 100, 10, 1].map(|place| (tenths / place % 10) as u8)
}

impl Device for ThirteenByte {
    fn hear(&mut self, byte: u8, at: Time) {
        let Some(block) = self.block(byte) else { return };
        let refused = self.obey(&block, at).is_none();
        self.rotator.handles.record.count(|counts| {
            counts.commands += 1;
            counts.refused += u64::from(refused);
        });
    }

    fn advance(&mut self, now: Time) {
        self.rotator.advance(now);
    }

    fn next_event(&self) -> Option<Time> {
        None
    }

    fn say(&mut self) -> Vec<Utterance> {
        self.voice.take()
    }

    fn handles(&self) -> &Handles {
        &self.rotator.handles
    }
}

#[cfg(test)]
mod tests;
