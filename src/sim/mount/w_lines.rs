//! A controller that speaks lines: `W180 045` goes, `C2` asks, `S` stops. Whole degrees, taken
//! literally: on a mount of 450 degrees `W010` and `W370` are two places. A good command is
//! silent; what it does not know is answered `?>`.

use super::rotator::{MountSettings, Rotator, Which};
use super::text::Lines;
use crate::sim::device::Voice;
use crate::sim::{Device, Fault, Handles, Utterance, Violation};
use crate::terms::Time;

/// Letters that start a motor (right, left, up, down) or calibrate the read-out (offset, full
/// scale), with or without numbers behind them; from memory of manuals.
const FORBIDDEN: [u8; 6] = *b"RLUDOF";
/// The largest numbers that the language has, degrees; from memory of manuals.
const FARTHEST: [f64; 2] = [450.0, 180.0];

/// How the controller writes its answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WAnswer {
    /// `+0180+0045`.
    Signed,
    /// `AZ=180  EL=045`.
    Named,
}

/// How a controller of lines is made.
#[derive(Debug, Clone, PartialEq)]
pub struct WLinesSettings {
    /// The mount under it.
    pub mount: MountSettings,
    /// The form of its answers.
    pub answer: WAnswer,
}

impl Default for WLinesSettings {
    fn default() -> Self {
        Self { mount: MountSettings::default(), answer: WAnswer::Signed }
    }
}

/// The controller with its mount.
pub struct WLines {
    rotator: Rotator,
    voice: Voice,
    answer: WAnswer,
    lines: Lines,
}

impl WLines {
    /// Switched on, at rest.
    pub fn new(settings: WLinesSettings, handles: Handles) -> Self {
        let rotator = Rotator::new(settings.mount, handles);
        Self {
            voice: Voice::new(rotator.thinking_s),
            rotator,
            answer: settings.answer,
            lines: Lines::default(),
        }
    }

    fn take(&mut self, line: &str, at: Time) {
        let refused = self.obey(line.trim_ascii(), at).is_none();
        self.rotator.handles.record.count(|counts| {
            counts.commands += 1;
            counts.refused += u64::from(refused);
        });
        if refused {
            self.voice.answer("?>\r\n", at);
        }
    }

    /// `None` for what it does not understand, or can't do.
    fn obey(&mut self, line: &str, at: Time) -> Option<()> {
        if line.bytes().next().is_some_and(|letter| FORBIDDEN.contains(&letter)) {
            let command = Violation::ForbiddenCommand(line.into());
            self.rotator.handles.record.breached(at, command);
            return Some(());
        }
        if self.rotator.handles.faults.is_on(Fault::Refusals) {
            return None;
        }
        let names_elevation = line == "C2" || line == "E" || line.starts_with('W');
        if self.rotator.azimuth_only && names_elevation {
            return None;
        }
        match line {
            "C" => self.tell(&[Which::Azimuth], at),
            "C2" => self.tell(&[Which::Azimuth, Which::Elevation], at),
            "S" => self.stop(&[Which::Azimuth, Which::Elevation], at),
            "A" => self.stop(&[Which::Azimuth], at),
            "E" => self.stop(&[Which::Elevation], at),
            _ => self.go(line, at)?,
        }
        Some(())
    }

    /// `W180 045` or `M180`.
    fn go(&mut self, line: &str, at: Time) -> Option<()> {
        let (azimuth, elevation) = match line.split_at_checked(1)? {
            ("M", azimuth) => (azimuth, None),
            ("W", both) => {
                let (azimuth, elevation) = both.split_once(' ')?;
                (azimuth, Some(degrees(elevation, FARTHEST[1])?))
            }
            _ => return None,
        };
        self.rotator.aim(Some(degrees(azimuth, FARTHEST[0])?), elevation, at);
        Some(())
    }

    fn stop(&mut self, axes: &[Which], at: Time) {
        axes.iter().for_each(|which| self.rotator.stop(*which, at));
    }

    fn tell(&mut self, axes: &[Which], at: Time) {
        let words: Vec<String> = axes.iter().map(|which| self.word(*which, at)).collect();
        let between = if self.answer == WAnswer::Named { "  " } else { "" };
        self.voice.answer(words.join(between) + "\r\n", at);
    }

    fn word(&mut self, which: Which, at: Time) -> String {
        // The sum keeps a rounded -0.4 from being written as a negative zero.
        let shown = self.rotator.read(which, at).round() + 0.0;
        match (self.answer, which) {
            (WAnswer::Signed, _) => format!("{shown:+05}"),
            (WAnswer::Named, Which::Azimuth) => format!("AZ={shown:03}"),
            (WAnswer::Named, Which::Elevation) => format!("EL={shown:03}"),
        }
    }
}

/// Exactly three digits, and no more than `farthest`.
fn degrees(text: &str, farthest: f64) -> Option<f64> {
    let plain = text.len() == 3 && text.bytes().all(|byte| byte.is_ascii_digit());
    text.parse().ok().filter(|degrees| plain && *degrees <= farthest)
}

impl Device for WLines {
    fn hear(&mut self, byte: u8, at: Time) {
        if let Some(line) = self.lines.hear(byte) {
            self.take(&line, at);
        }
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
