//! What the radio was last told or read to have.

use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::device::order::{DialMemory, RadioMemory};
use crate::device::values::Values;
use crate::terms::{Direction, Hertz, Mode, Tone};

use super::RadioSetup;
use super::errand::Errand;

/// How long a reading of the transmit state counts as knowing it.
pub(super) const TRANSMIT_STATE_FRESH: Duration = Duration::from_millis(250);

/// One dial.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub(super) struct KnownDial {
    pub(super) hertz: Option<Hertz>,
    pub(super) mode: Option<Mode>,
}

/// The whole radio. `None` is "not known".
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(super) struct Known {
    pub(super) receive: KnownDial,
    pub(super) transmit: KnownDial,
    /// The tone that was set; the inner `None` is "off".
    #[serde(with = "crate::terms::maybe_known")]
    pub(super) tone: Option<Option<Tone>>,
    transmitting: Option<(bool, Duration)>,
}

impl Known {
    pub(super) fn dial(&self, direction: Direction) -> KnownDial {
        match direction {
            Direction::Receive => self.receive,
            Direction::Transmit => self.transmit,
        }
    }

    fn dial_mut(&mut self, direction: Direction) -> &mut KnownDial {
        match direction {
            Direction::Receive => &mut self.receive,
            Direction::Transmit => &mut self.transmit,
        }
    }

    /// The line was out of touch: the dials may have been turned. Modes and tone are taken to be
    /// as they were set until they are read, because a radio keeps them, and setting them again
    /// makes some listen elsewhere meanwhile.
    pub(super) fn lapse(&mut self) {
        Direction::BOTH.into_iter().for_each(|direction| self.forget_dial(direction));
        self.transmitting = None;
    }

    /// The radio may have lost what it was told: modes and tone are to be read or set anew.
    pub(super) fn forget_settings(&mut self) {
        Direction::BOTH.into_iter().for_each(|direction| self.dial_mut(direction).mode = None);
        self.tone = None;
    }

    /// Where this dial stands is to be set anew.
    pub(super) fn forget_dial(&mut self, direction: Direction) {
        self.dial_mut(direction).hertz = None;
    }

    /// Whether the radio transmitted when it was last asked, however long ago.
    pub(super) fn on_air(&self) -> bool {
        self.transmitting.is_some_and(|(is, _)| is)
    }

    /// Whether the radio transmits, if it was read lately.
    pub(super) fn transmitting(&self, now: Duration) -> Option<bool> {
        self.transmitting.filter(|(_, at)| now.saturating_sub(*at) <= TRANSMIT_STATE_FRESH).map(|(is, _)| is)
    }

    /// When the transmit state was read last.
    pub(super) fn transmit_state_read_at(&self) -> Option<Duration> {
        self.transmitting.map(|(_, at)| at)
    }

    /// Takes a reading; returns what was read, for people.
    pub(super) fn take(&mut self, setup: &RadioSetup, values: &Values, now: Duration) -> Vec<String> {
        let mut read = Vec::new();
        for direction in Direction::BOTH.into_iter().filter(|direction| setup.uses.serves(*direction)) {
            if let Some(hertz) = values.hertz(&setup.item(direction, "hz")) {
                self.dial_mut(direction).hertz = Some(hertz);
                read.push(format!("{direction} {hertz}"));
            }
            if let Some(mode) = values.mode(&setup.item(direction, "mode")) {
                self.dial_mut(direction).mode = Some(mode);
                read.push(format!("{direction} {mode}"));
            }
        }
        if let Some(is) = values.flag("transmitting") {
            self.transmitting = Some((is, now));
            read.push(if is { "transmitting" } else { "receiving" }.to_owned());
        }
        read
    }

    /// The radio accepted an errand.
    pub(super) fn accept(&mut self, errand: &Errand) {
        match errand {
            Errand::Tune(direction, hertz) => self.dial_mut(*direction).hertz = Some(*hertz),
            Errand::TuneLive(hertz) => self.transmit.hertz = Some(*hertz),
            Errand::Mode(direction, mode) => self.dial_mut(*direction).mode = Some(*mode),
            Errand::Tone(tone) => self.tone = Some(*tone),
            _ => {}
        }
    }

    /// It is not known whether an errand had its effect.
    pub(super) fn doubt(&mut self, errand: &Errand) {
        match errand {
            Errand::Tune(direction, _) => self.forget_dial(*direction),
            Errand::TuneLive(_) => self.forget_dial(Direction::Transmit),
            Errand::Mode(direction, _) => self.dial_mut(*direction).mode = None,
            Errand::Tone(_) => self.tone = None,
            _ => {}
        }
    }

    /// What is to be remembered of it.
    pub(super) fn memory(&self, receive_only: bool) -> RadioMemory {
        let keep = |dial: KnownDial| DialMemory { hertz: dial.hertz, mode: dial.mode };
        let transmit = if receive_only { DialMemory::default() } else { keep(self.transmit) };
        RadioMemory { receive: keep(self.receive), transmit, receive_only }
    }
}
