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

/// The whole panel.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Panel {
    pub(super) vfos: Vec<Vfo>,
    /// Index of the dial that receives.
    pub(super) receive: usize,
    /// Index of the dial that transmits.
    pub(super) transmit: usize,
    pub(super) offsets: Offsets,
    pub(super) keyed: bool,
}

impl Panel {
    /// What the receiver is tuned to.
    pub(super) fn receive_hertz(&self) -> Hertz {
        self.vfos[self.receive].hertz + self.offsets.rit
    }

    /// Where a transmission would be.
    pub(super) fn transmit_hertz(&self) -> Hertz {
        let vfo = &self.vfos[self.transmit];
        let shift = if vfo.mode == Mode::Fm { self.offsets.shift } else { Hertz(0) };
        vfo.hertz + self.offsets.xit + shift
    }

    /// The tone that a transmission would carry; only FM carries one.
    pub(super) fn tone(&self) -> Option<Tone> {
        let vfo = &self.vfos[self.transmit];
        vfo.tone.filter(|_| vfo.tone_on && vfo.mode == Mode::Fm)
    }
}
