//! What a radio's front panel shows: plain state, without time or language.

use crate::terms::{Hertz, Mode, Tone};

/// One dial with what belongs to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vfo {
    /// What the dial shows.
    pub hertz: Hertz,
    /// Its mode.
    pub mode: Mode,
    /// The tone that is chosen, whether on or off.
    pub tone: Option<Tone>,
    /// Whether a transmission carries the tone.
    pub tone_on: bool,
    /// Whether the receiver opens for that tone only.
    pub tone_squelch: bool,
}

impl Vfo {
    /// FM on `hertz` with the lowest tone of the standard, off.
    pub fn fm(hertz: Hertz) -> Self {
        Self { hertz, mode: Mode::Fm, tone: Tone::all().next(), tone_on: false, tone_squelch: false }
    }
}

/// What comes on top of the dials; zero where it is off.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Offsets {
    /// Automatic repeater shift of the transmitter, in effect in FM.
    pub shift: Hertz,
    /// The receiver's clarifier.
    pub rit: Hertz,
    /// The transmitter's clarifier.
    pub xit: Hertz,
}

/// How wrong a dial is.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct DialError {
    /// It shows so many millionths too much.
    pub ppm: f64,
    /// And so much besides, at any frequency.
    pub hertz: Hertz,
}

impl DialError {
    /// Where the radio really is while the dial shows `shown`.
    pub(super) fn really(self, shown: Hertz) -> Hertz {
        Hertz::rounded((shown - self.hertz).as_f64() / (1.0 + self.ppm / 1e6))
    }
}

/// The whole panel.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Panel {
    pub(super) vfos: Vec<Vfo>,
    /// Index of the dial that receives.
    pub(super) receive: usize,
    /// Index of the dial that transmits.
    pub(super) transmit: usize,
    pub(super) offsets: Offsets,
    /// How wrong the dials are, receiving and transmitting.
    pub(super) errors: [DialError; 2],
    pub(super) keyed: bool,
}

impl Panel {
    /// What the receiver is really tuned to.
    pub(super) fn receive_hertz(&self) -> Hertz {
        self.errors[0].really(self.vfos[self.receive].hertz + self.offsets.rit)
    }

    /// Where a transmission would really be.
    pub(super) fn transmit_hertz(&self) -> Hertz {
        let vfo = &self.vfos[self.transmit];
        let shift = if vfo.mode == Mode::Fm { self.offsets.shift } else { Hertz(0) };
        self.errors[1].really(vfo.hertz + self.offsets.xit + shift)
    }

    /// The tone that a transmission would carry; only FM carries one.
    pub(super) fn tone(&self) -> Option<Tone> {
        let vfo = &self.vfos[self.transmit];
        vfo.tone.filter(|_| vfo.tone_on && vfo.mode == Mode::Fm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // 2 millionths of 435 MHz are 870 Hz.
    #[test]
    fn a_dial_that_shows_too_much_is_really_lower() {
        let error = DialError { ppm: 2.0, hertz: Hertz(-70) };
        assert_eq!(error.really(Hertz(435_000_800)), Hertz(435_000_000));
        assert_eq!(DialError::default().really(Hertz(145_950_003)), Hertz(145_950_003));
    }
}
