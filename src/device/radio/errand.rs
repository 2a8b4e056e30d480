//! The single things that a radio's player does, and how each is said.

use serde::{Deserialize, Serialize};

use crate::device::dialect::Exchange;
use crate::device::player::Urgency;
use crate::device::values::Values;
use crate::terms::{Direction, Hertz, Mode, Tone};

use super::RadioSetup;

/// One thing to ask or to do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) enum Errand {
    /// Ask for this item of the dialect.
    Ask(String),
    /// Ask whether the radio transmits, because something depends on it. It is asked as often as
    /// that needs and does not take the turn of any other question.
    Watch,
    /// Read the frequency of the VFO in use, to know which one that is.
    WhichVfo,
    /// Set the transmitting dial while it is the one in use, because the radio transmits.
    TuneLive(Hertz),
    /// Say what the radio needs to hear before it understands anything.
    Greet,
    /// One of the dialect's preparations, by name.
    Prepare(String),
    /// Ask whether a preparation is in effect: only then does the answer fit the dialect's form.
    Verify(String),
    /// Set a dial.
    Tune(Direction, Hertz),
    /// Set a mode.
    Mode(Direction, Mode),
    /// Set the tone that goes along with the transmission, or switch it off.
    Tone(Option<Tone>),
}

impl Errand {
    /// Whether it may change what or where the radio transmits, other than by following the
    /// plan: only done before AOS, or while the radio is known to receive.
    pub(super) fn touches_transmitter(&self, setup: &RadioSetup, following: bool) -> bool {
        match self {
            Errand::Tune(Direction::Transmit, _) => !following,
            Errand::Watch | Errand::Greet | Errand::TuneLive(_) => false,
            Errand::Verify(_) | Errand::WhichVfo => true,
            // A question of several frames selects a band or a VFO first; with split, a plain one
            // is answered by the VFO that is in use.
            Errand::Ask(_) => {
                setup.visits_other() || self.encoded(setup).is_ok_and(|said| said.frames().count() > 1)
            }
            Errand::Tune(Direction::Receive, _) => setup.visits_other() && !following,
            Errand::Prepare(_) | Errand::Tone(_) => true,
            Errand::Mode(..) => setup.uses != super::Use::Receive || setup.receive_only,
        }
    }

    /// Whether the transmitter may be somewhere else than its dial says if this was not done:
    /// which VFO or band transmits, and the repeater shift.
    pub(super) fn decides_where_it_transmits(&self) -> bool {
        let (Errand::Prepare(name) | Errand::Verify(name)) = self else { return false };
        super::roles::decides_where_it_transmits(name)
    }

    pub(super) fn urgency(&self) -> Urgency {
        match self {
            Errand::Ask(_) => Urgency::Poll,
            // It decides whether a dial may be tuned.
            Errand::Watch | Errand::Tune(..) | Errand::TuneLive(_) => Urgency::Tune,
            _ => Urgency::Setup,
        }
    }

    pub(super) fn is_question(&self) -> bool {
        matches!(self, Errand::Ask(_) | Errand::Watch | Errand::WhichVfo | Errand::Verify(_))
    }

    /// The dial that it sets.
    pub(super) fn tunes(&self) -> Option<Direction> {
        match self {
            Errand::Tune(direction, _) => Some(*direction),
            Errand::TuneLive(_) => Some(Direction::Transmit),
            _ => None,
        }
    }

    /// Whether a note is about a mode or a tone.
    pub(super) fn is_mode_or_tone(what: &str) -> bool {
        let mode = |mode: &Mode| {
            Direction::BOTH.iter().any(|direction| Errand::Mode(*direction, *mode).describe() == what)
        };
        what.starts_with("tone ") && (what.ends_with(" Hz") || what == Errand::Tone(None).describe())
            || Mode::ALL.iter().any(mode)
    }

    /// Whether both are for the same mode, or both for the tone.
    pub(super) fn sets_the_same(&self, other: &Errand) -> bool {
        match (self, other) {
            (Errand::Mode(one, _), Errand::Mode(two, _)) => one == two,
            (Errand::Tone(_), Errand::Tone(_)) => true,
            _ => false,
        }
    }

    /// The item that is asked for.
    pub(super) fn asks_for(&self) -> Option<&str> {
        match self {
            Errand::Ask(item) => Some(item),
            Errand::Watch => Some("transmitting"),
            _ => None,
        }
    }

    /// The dialect's verb.
    pub(super) fn verb(&self, setup: &RadioSetup) -> String {
        match self {
            Errand::Ask(item) | Errand::Verify(item) => format!("ask.{item}"),
            Errand::Watch => "ask.transmitting".to_owned(),
            Errand::WhichVfo => "ask.hz".to_owned(),
            Errand::TuneLive(_) => "do.hz".to_owned(),
            Errand::Greet => "do.greeting".to_owned(),
            Errand::Prepare(name) => format!("do.{name}"),
            Errand::Tune(direction, _) => format!("do.{}", setup.item(*direction, "hz")),
            Errand::Mode(direction, _) => format!("do.{}", setup.item(*direction, "mode")),
            Errand::Tone(Some(_)) => format!("do.{}", setup.item(Direction::Transmit, "tone")),
            Errand::Tone(None) => format!("do.{}", setup.item(Direction::Transmit, "tone_off")),
        }
    }

    /// The bytes to say. A transmit frequency outside the licence is refused here, after all
    /// sums and rounding, whatever asked for it.
    pub(super) fn exchange(&self, setup: &RadioSetup) -> Result<Exchange, String> {
        if let Errand::Tune(Direction::Transmit, hertz) | Errand::TuneLive(hertz) = self
            && !setup.may_transmit_on(*hertz)
        {
            return Err("outside the transmit segments of the configuration, so it is not set".to_owned());
        }
        self.encoded(setup)
    }

    /// The bytes, for their length; nothing was checked.
    pub(super) fn encoded(&self, setup: &RadioSetup) -> Result<Exchange, String> {
        setup
            .dialect
            .exchange(&self.verb(setup), &self.values(), setup.address)
            .map_err(|error| error.to_string())
    }

    fn values(&self) -> Values {
        match self {
            Errand::Tune(_, hertz) | Errand::TuneLive(hertz) => Values::of_hertz(*hertz),
            Errand::Mode(_, mode) => Values::of_mode(*mode),
            Errand::Tone(Some(tone)) => Values::of_tone(*tone),
            _ => Values::new(),
        }
    }

    /// What a note to the operator is about: a dial, whatever its frequency is by now.
    pub(super) fn subject(&self) -> String {
        match self {
            Errand::Tune(direction, _) => format!("the {direction} dial"),
            Errand::TuneLive(_) => format!("the {} dial", Direction::Transmit),
            other => other.describe(),
        }
    }

    /// For people.
    pub(super) fn describe(&self) -> String {
        match self {
            Errand::Ask(item) => format!("question: {item}"),
            Errand::Watch => "question: transmitting".to_owned(),
            Errand::WhichVfo => "question: the VFO in use".to_owned(),
            Errand::TuneLive(hertz) => format!("transmit {hertz}"),
            Errand::Greet => "greeting".to_owned(),
            Errand::Prepare(name) | Errand::Verify(name) => name.replace('_', " "),
            Errand::Tune(direction, hertz) => format!("{direction} {hertz}"),
            Errand::Mode(direction, mode) => format!("{direction} {mode}"),
            Errand::Tone(Some(tone)) => format!("tone {tone} Hz"),
            Errand::Tone(None) => "tone off".to_owned(),
        }
    }
}
