//! From the true frequency to the radio's dial and back: how wrong its own oscillator is, and
//! what it can be set to in which mode.

use crate::terms::{Direction, Hertz, Mode};

/// What is added to a dial so that the true frequency is the wanted one.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Correction {
    /// In proportion to the frequency, millionths.
    pub ppm: f64,
    /// Besides, at any frequency.
    pub hz: Hertz,
}

impl Correction {
    /// Where the dial must stand for `truth` to be received or transmitted.
    pub fn dial(self, truth: Hertz) -> Hertz {
        Hertz::rounded(truth.as_f64() * (1.0 + self.ppm * 1e-6)) + self.hz
    }

    /// What is really received or transmitted while the dial stands at `dial`.
    pub fn truth(self, dial: Hertz) -> Hertz {
        Hertz::rounded((dial - self.hz).as_f64() / (1.0 + self.ppm * 1e-6))
    }
}

/// A radio's corrections; none by default.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Calibration {
    /// The receiver's.
    pub receive: Correction,
    /// The transmitter's.
    pub transmit: Correction,
}

impl Calibration {
    /// The correction of one direction.
    pub fn of(&self, direction: Direction) -> Correction {
        match direction {
            Direction::Receive => self.receive,
            Direction::Transmit => self.transmit,
        }
    }
}

/// A frequency for each kind of mode, as far as given.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct ByMode {
    /// In FM.
    pub fm: Option<Hertz>,
    /// In both sidebands.
    pub ssb: Option<Hertz>,
    /// In CW.
    pub cw: Option<Hertz>,
    /// In AM.
    pub am: Option<Hertz>,
}

impl ByMode {
    /// The same in every mode.
    pub fn all(hertz: Hertz) -> Self {
        let each = Some(hertz);
        Self { fm: each, ssb: each, cw: each, am: each }
    }

    /// What holds in this mode.
    pub fn of(&self, mode: Mode) -> Option<Hertz> {
        match mode {
            Mode::Fm => self.fm,
            Mode::Usb | Mode::Lsb => self.ssb,
            Mode::Cw => self.cw,
            Mode::Am => self.am,
        }
    }

    /// The kinds of modes by the names of the files, with what is given for each.
    pub fn iter(&self) -> impl Iterator<Item = (&'static str, Hertz)> + use<> {
        let each = [("fm", self.fm), ("ssb", self.ssb), ("cw", self.cw), ("am", self.am)];
        each.into_iter().filter_map(|(name, hertz)| Some((name, hertz?)))
    }

    /// The smallest that is given.
    pub fn least(&self) -> Option<Hertz> {
        self.iter().map(|(_, hertz)| hertz).min()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // 2 ppm of 435 MHz are 870 Hz.
    #[test]
    fn a_correction_is_added_to_the_dial() {
        let correction = Correction { ppm: 2.0, hz: Hertz(-70) };
        assert_eq!(correction.dial(Hertz(435_000_000)), Hertz(435_000_800));
        assert_eq!(correction.truth(Hertz(435_000_800)), Hertz(435_000_000));
    }

    #[test]
    fn both_sidebands_have_one_step_and_an_unnamed_mode_none() {
        let steps = ByMode { fm: Some(Hertz(5000)), ssb: Some(Hertz(10)), ..ByMode::default() };
        assert_eq!(steps.of(Mode::Lsb), Some(Hertz(10)));
        assert_eq!(steps.of(Mode::Fm), Some(Hertz(5000)));
        assert_eq!((steps.of(Mode::Cw), steps.least()), (None, Some(Hertz(10))));
    }
}
