//! A controller that speaks words: `AZ180.0 EL45.0` goes, `AZ EL` asks, `SA SE` stops. Lines end
//! in CR, LF or both; nothing is refused aloud.

use super::rotator::{MountSettings, Rotator, Which};
use super::text::Lines;
use crate::sim::device::Voice;
use crate::sim::{Device, Fault, Handles, Utterance};
use crate::terms::Time;

/// How the controller writes its answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AnswerForm {
    /// `AZ180.0 EL45.0`.
    OneLine,
    /// `AZ180.0` and `EL45.0` on lines of their own.
    TwoLines,
    /// `AZ 180.0  EL  45.0`: numbers in columns.
    Padded,
}

/// How a controller of words is made.
#[derive(Debug, Clone, PartialEq)]
pub struct WordsSettings {
    /// The mount under it.
    pub mount: MountSettings,
    /// The form of its answers.
    pub answer: AnswerForm,
}

impl Default for WordsSettings {
    fn default() -> Self {
        Self { mount: MountSettings::default(), answer: AnswerForm::OneLine }
    }
}

/// The controller with its mount.
pub struct Words {
    rotator: Rotator,
    voice: Voice,
    answer: AnswerForm,
    lines: Lines,
}

/// What one line wants.
#[derive(Debug, Default)]
struct Wishes {
    azimuth: Option<f64>,
    elevation: Option<f64>,
    asks: [bool; 2],
    stops: [bool; 2],
    not_understood: bool,
}

impl Wishes {
    fn of(line: &str) -> Self {
        let mut wishes = Self::default();
        for word in line.split_ascii_whitespace() {
            match word.split_at_checked(2) {
                Some(("AZ", "")) => wishes.asks[0] = true,
                Some(("EL", "")) => wishes.asks[1] = true,
                Some(("SA", "")) => wishes.stops[0] = true,
                Some(("SE", "")) => wishes.stops[1] = true,
                Some(("AZ", number)) if degrees(number).is_some() => wishes.azimuth = degrees(number),
                Some(("EL", number)) if degrees(number).is_some() => wishes.elevation = degrees(number),
                _ => wishes.not_understood = true,
            }
        }
        wishes
    }
}

/// Plain decimal degrees, with a sign or without.
fn degrees(text: &str) -> Option<f64> {
    let plain = text.bytes().all(|byte| byte.is_ascii_digit() || b"+-.".contains(&byte));
    text.parse().ok().filter(|_| plain)
}

impl Words {
    /// Switched on, at rest.
    pub fn new(settings: WordsSettings, handles: Handles) -> Self {
        let rotator = Rotator::new(settings.mount, handles);
        Self {
            voice: Voice::new(rotator.thinking_s),
            rotator,
            answer: settings.answer,
            lines: Lines::default(),
        }
    }

    fn obey(&mut self, line: &str, at: Time) {
        let wishes = Wishes::of(line);
        // A stop for a motor that is not there is as good as done.
        let no_such_motor = self.rotator.azimuth_only && (wishes.elevation.is_some() || wishes.asks[1]);
        let refused =
            wishes.not_understood || no_such_motor || self.rotator.handles.faults.is_on(Fault::Refusals);
        self.rotator.handles.record.count(|counts| {
            counts.commands += 1;
            counts.refused += u64::from(refused);
        });
        if no_such_motor || self.rotator.handles.faults.is_on(Fault::Refusals) {
            return;
        }
        for (which, _) in those(wishes.stops) {
            self.rotator.stop(which, at);
        }
        if wishes.azimuth.is_some() || wishes.elevation.is_some() {
            self.rotator.aim(wishes.azimuth, wishes.elevation, at);
        }
        self.tell(wishes.asks, at);
    }

    fn tell(&mut self, asks: [bool; 2], at: Time) {
        let words: Vec<String> = those(asks).map(|(which, name)| self.word(which, name, at)).collect();
        if !words.is_empty() {
            let between = if self.answer == AnswerForm::TwoLines { "\r\n" } else { " " };
            self.voice.answer(words.join(between) + "\r\n", at);
        }
    }

    fn word(&mut self, which: Which, name: &str, at: Time) -> String {
        let shown = self.rotator.read(which, at);
        match self.answer {
            AnswerForm::Padded => format!("{name}{shown:6.1}"),
            AnswerForm::OneLine | AnswerForm::TwoLines => format!("{name}{shown:.1}"),
        }
    }
}

/// Those of the two axes that are meant, with their words.
fn those(meant: [bool; 2]) -> impl Iterator<Item = (Which, &'static str)> {
    let axes = [(Which::Azimuth, "AZ"), (Which::Elevation, "EL")];
    axes.into_iter().zip(meant).filter(|(_, meant)| *meant).map(|(axis, _)| axis)
}

impl Device for Words {
    fn hear(&mut self, byte: u8, at: Time) {
        if let Some(line) = self.lines.hear(byte) {
            self.obey(&line, at);
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
mod tests {
    use super::*;
    use crate::sim::{Wire, WireSettings};
    use crate::terms::{AzEl, later, parse_time};

    fn start() -> Time {
        parse_time("2026-11-25T18:30:00Z").unwrap()
    }

    fn wire(answer: AnswerForm) -> Wire {
        let settings = WordsSettings { answer, ..WordsSettings::default() };
        Wire::new(Words::new(settings, Handles::default()), WireSettings::default())
    }

    fn ask(wire: &mut Wire, text: &str, seconds: f64) -> String {
        wire.write(text.as_bytes(), later(start(), seconds));
        String::from_utf8(wire.read(later(start(), seconds + 0.2))).unwrap()
    }

    #[test]
    fn it_goes_silently_and_answers_with_the_same_words() {
        for end in ["\r", "\n", "\r\n"] {
            let mut wire = wire(AnswerForm::OneLine);
            assert_eq!(ask(&mut wire, &format!("AZ180.0 EL45.0{end}"), 0.0), "");
            assert_eq!(ask(&mut wire, &format!("AZ EL{end}"), 60.0), "AZ180.0 EL45.0\r\n");
            let counts = wire.handles().record.counts();
            assert_eq!((counts.commands, counts.refused), (2, 0));
        }
    }

    #[test]
    fn answers_come_in_any_of_three_forms() {
        assert_eq!(ask(&mut wire(AnswerForm::TwoLines), "AZ EL\r", 0.0), "AZ0.0\r\nEL0.0\r\n");
        assert_eq!(ask(&mut wire(AnswerForm::Padded), "AZ EL\r", 0.0), "AZ   0.0 EL   0.0\r\n");
        assert_eq!(ask(&mut wire(AnswerForm::OneLine), "EL\r", 0.0), "EL0.0\r\n");
    }

    #[test]
    fn the_stop_words_stop() {
        let mut wire = wire(AnswerForm::OneLine);
        ask(&mut wire, "AZ180.0 EL45.0\r", 0.0);
        ask(&mut wire, "SA SE\r", 4.0);
        let stopped = wire.handles().record.position_at(later(start(), 6.0));
        wire.advance(later(start(), 60.0));
        let record = &wire.handles().record;
        assert_eq!(record.aims().len(), 1);
        let end = record.position_at(later(start(), 60.0)).unwrap();
        assert!((15.0..25.0).contains(&end.azimuth) && (10.0..14.0).contains(&end.elevation), "{end:?}");
        assert!(stopped.is_some());
    }

    #[test]
    fn a_mount_that_only_turns_passes_over_lines_that_would_tilt_it() {
        let mount = MountSettings { azimuth_only: true, ..MountSettings::default() };
        let settings = WordsSettings { mount, ..WordsSettings::default() };
        let mut wire = Wire::new(Words::new(settings, Handles::default()), WireSettings::default());
        assert_eq!(ask(&mut wire, "AZ180.0 EL45.0\r", 0.0), "");
        assert_eq!(ask(&mut wire, "AZ EL\r", 1.0), "");
        assert_eq!(ask(&mut wire, "AZ\r", 2.0), "AZ0.0\r\n");
        assert_eq!(wire.handles().record.counts().refused, 2);
    }

    #[test]
    fn what_it_does_not_understand_is_counted_and_passed_over() {
        let mut wire = wire(AnswerForm::OneLine);
        assert_eq!(ask(&mut wire, "AZ1x0 HELLO EL1e9 AZinf\r", 0.0), "");
        let record = &wire.handles().record;
        assert_eq!((record.counts().refused, record.aims().len()), (1, 0));
        assert_eq!(record.position_at(later(start(), 0.1)), Some(AzEl::new(0.0, 0.0)));
    }
}
