//! A radio, as the configuration describes it.

use std::sync::Arc;

use crate::device::dialect::{self, Dialect};
use crate::device::values::Values;
use crate::terms::{Dial, Direction, Hertz, Mode, Segments};

use super::errand::Errand;
use super::law::DialLaw;
use super::scale::{ByMode, Calibration};

/// In FM a dial that follows every step clicks and mutes: a change below this is not worth it
/// (common practice; half the smallest usual channel step is 2.5 kHz, and this is well inside).
const WORTHWHILE_FM: Hertz = Hertz(500);

/// A meter does not care for less, and each command takes time in which the meter is not read: a filter for
/// one sideband is some 2.4 kHz wide (common practice).
const WORTHWHILE_TO_LISTEN: Hertz = Hertz(100);

/// Which directions a radio serves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Use {
    /// It only receives.
    Receive,
    /// It only transmits, beside another radio that receives.
    Transmit,
    /// Both, on two bands that are live at once.
    Both,
    /// Both, one after the other: it receives on one VFO and transmits on the other.
    HalfDuplex,
}

impl Use {
    /// The word that files and messages use.
    pub fn name(self) -> &'static str {
        match self {
            Use::Receive => "receive",
            Use::Transmit => "transmit",
            Use::Both => "both",
            Use::HalfDuplex => "half-duplex",
        }
    }

    /// Whether the radio serves this direction.
    pub fn serves(self, direction: Direction) -> bool {
        match self {
            Use::Both | Use::HalfDuplex => true,
            Use::Receive => direction == Direction::Receive,
            Use::Transmit => direction == Direction::Transmit,
        }
    }
}

/// What a radio's player needs to know.
#[derive(Debug, Clone)]
pub struct RadioSetup {
    /// The name from the configuration.
    pub name: String,
    /// How to speak to it.
    pub dialect: Arc<Dialect>,
    /// Its address on a shared bus, where its language has one.
    pub address: Option<u8>,
    /// Which directions it serves.
    pub uses: Use,
    /// The dial's step; the dialect's where not given.
    pub step: ByMode,
    /// The change that is worth a command; the mode's usual one where not given.
    pub worthwhile: ByMode,
    /// How wrong its dials are.
    pub calibration: Calibration,
    /// Whether the transmitting dial stays where it is while the radio transmits, even if it
    /// could be tuned.
    pub hold_uplink: bool,
    /// Where the operator may transmit.
    pub segments: Segments,
    /// At present it only listens, whatever it could do besides.
    pub receive_only: bool,
}

impl RadioSetup {
    /// How finely the dials are kept in this mode.
    pub fn law(&self, mode: Mode) -> DialLaw {
        let step = self.step.of(mode).map_or(self.dialect.step(), |step| step.max(self.dialect.step()));
        let by_mode = if mode.is_narrow() { step } else { step.max(WORTHWHILE_FM) };
        let worthwhile = self.worthwhile.of(mode).unwrap_or(by_mode);
        let least = if self.receive_only { WORTHWHILE_TO_LISTEN } else { step };
        DialLaw::new(step, worthwhile.max(least))
    }

    /// The directions that are really served: nothing is done to a transmitter that may transmit
    /// nowhere.
    pub fn directions(&self) -> impl Iterator<Item = Direction> + use<> {
        let may_transmit = self.may_transmit();
        self.asked().filter(move |direction| *direction == Direction::Receive || may_transmit)
    }

    /// The directions whose dials are asked for; those of a transmitter that may transmit nowhere too.
    pub(super) fn asked(&self) -> impl Iterator<Item = Direction> + use<> {
        let (uses, receive_only) = (self.uses, self.receive_only);
        let is_asked = move |direction: &Direction| *direction == Direction::Receive || !receive_only;
        Direction::BOTH.into_iter().filter(move |direction| uses.serves(*direction)).filter(is_asked)
    }

    /// Whether nothing but receiving matters.
    pub(super) fn only_receives(&self) -> bool {
        self.receive_only || self.uses == Use::Receive
    }

    /// Whether anything may be done to its transmitter.
    pub(super) fn may_transmit(&self) -> bool {
        !self.segments.is_empty() && !self.receive_only
    }

    /// Where the dial must stand for the true frequency to be the wanted one, steps apart.
    pub(super) fn on_dial(&self, direction: Direction, wanted: Hertz) -> Hertz {
        self.calibration.of(direction).dial(wanted)
    }

    /// Where the dial is set to for what the plan wants.
    pub(super) fn dial_for(&self, direction: Direction, wanted: Dial) -> Hertz {
        self.settable(direction, wanted.mode, self.on_dial(direction, wanted.hertz))
    }

    /// Whether the licence allows a transmission while the dial stands at `dial`: both what the
    /// dial shows and what is really transmitted.
    pub(super) fn may_transmit_on(&self, dial: Hertz) -> bool {
        let truth = self.calibration.transmit.truth(dial);
        self.segments.allow(dial) && self.segments.allow(truth)
    }

    /// The setting nearest to `wanted`, which is on the dial's scale.
    pub(super) fn settable(&self, direction: Direction, mode: Mode, wanted: Hertz) -> Hertz {
        let verb = format!("do.{}", self.item(direction, "hz"));
        self.dialect.settable(&verb, wanted.to_step(self.law(mode).step))
    }

    /// Whether it depends on the transmit key how or when a dial can be tuned.
    pub(super) fn heeds_key(&self, direction: Direction) -> bool {
        let held = self.hold_uplink && direction == Direction::Transmit;
        held || !self.dialect.tunes_while_transmitting() || self.visits_other()
    }

    /// Whether this is a half-duplex radio whose transmitting VFO has to be selected to set it.
    pub(super) fn visits_other(&self) -> bool {
        let any = Values::of_hertz(Hertz(145_950_000));
        let address = self.address.or(Some(0));
        let visits = |said: dialect::Exchange| said.frames().count() > 1;
        self.uses == Use::HalfDuplex && self.dialect.exchange("do.other_hz", &any, address).is_ok_and(visits)
    }

    /// The bytes of one tuning command of a direction, and of what the radio answers to it at
    /// least (an acknowledgement each; an address and its frame on a bus count with it).
    pub fn tuning_bytes(&self, direction: Direction, dial: Dial) -> Option<(usize, usize)> {
        let hertz = self.dial_for(direction, dial);
        let exchange = Errand::Tune(direction, hertz).encoded(self).ok()?;
        Some((exchange.bytes(), exchange.answers() * self.dialect.family().acknowledgement()))
    }

    /// How the dialect calls this radio's arrangement of dials.
    pub(super) fn arrangement(&self) -> dialect::Arrangement {
        match self.uses {
            Use::Both => dialect::Arrangement::Duplex,
            Use::HalfDuplex => dialect::Arrangement::Split,
            Use::Receive | Use::Transmit => dialect::Arrangement::Single,
        }
    }

    /// The dialect's name for `what` ("hz", "mode") in a direction: a duplex radio has one for
    /// each, a half-duplex radio transmits on the other VFO, a radio with one direction has only
    /// one dial.
    pub fn item(&self, direction: Direction, what: &str) -> String {
        match (self.uses, direction) {
            (Use::Both, Direction::Receive) => format!("rx_{what}"),
            (Use::Both, Direction::Transmit) => format!("tx_{what}"),
            (Use::HalfDuplex, Direction::Transmit) => format!("other_{what}"),
            _ => what.to_owned(),
        }
    }
}
