//! Half-duplex by split: one VFO receives, the other one transmits.
//!
//! Some languages address each VFO in one frame; then both dials are tuned as on a duplex radio.
//! In others the transmitting VFO is reached by *visits*: select it (or toggle to it), set it, go
//! back. A visit interrupts reception for as long as its frames take, so it is made only before
//! AOS, after each over, and between overs when the dial is worth it but not more often than every
//! [`VISIT_EVERY_S`]; and only while the radio is known to receive, because it changes for a moment
//! which VFO would transmit. While such a radio transmits, the plain frequency command reaches the
//! transmitting VFO: that is the only dial that is tuned then, where the radio takes it at all.
//!
//! A receive frequency that meets the moment when the key is pressed would land on the transmitting
//! VFO. On a radio that is tuned while it transmits, none is sent that lies outside the segments.

use std::collections::VecDeque;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::device::conversation::Outcome;
use crate::device::status::RadioStage;
use crate::device::values::Values;
use crate::terms::{Direction, Hertz, Moment};

use super::errand::Errand;
use super::{RadioPlayer, Use, lists};

/// The least time between two visits between overs, seconds of plan time.
pub(super) const VISIT_EVERY_S: f64 = 4.0;
/// How often a toggle is sent to bring the VFOs back to their places.
const TOGGLES: u32 = 3;

/// What the note is about that the VFOs may have changed places.
const THE_VFOS: &str = "the VFO that receives";

/// Whether the right VFO receives, on a radio that can only toggle between them and does not say
/// which one is in use. With the number of toggles sent to make it right.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub(super) enum Vfos {
    /// Nothing speaks against it.
    #[default]
    Right,
    /// A visit was made: the frequency of the VFO in use is to be read. With what was read before
    /// the last toggle.
    Doubted(u32, Option<Hertz>),
    /// The transmitting dial's frequency was read.
    Swapped(u32, Hertz),
}

impl RadioPlayer {
    /// Whether the errand goes to the other VFO and comes back.
    fn is_visit(&self, errand: &Errand) -> bool {
        let verb = errand.verb(&self.setup);
        let other = verb.starts_with("do.other_") || verb.starts_with("ask.other_");
        other && errand.encoded(&self.setup).is_ok_and(|said| said.frames().count() > 1)
    }

    /// Whether another visit, only to follow the plan, would come too soon.
    pub(super) fn visited_lately(&self, now: Moment) -> bool {
        let since = self.visited_at.map(|at| now.mono.saturating_sub(at).as_secs_f64() * now.speed);
        self.known.transmit.hertz.is_some() && since.is_some_and(|since| since < VISIT_EVERY_S)
    }

    /// Whether this dial is left alone at present: the VFOs could not be brought back to their
    /// places, or a pass is on and the radio can't say whether it transmits.
    pub(super) fn is_left_alone(&mut self, direction: Direction, now: Moment) -> bool {
        if self.hands_off && direction == Direction::Transmit {
            return true;
        }
        let blind = self.setup.visits_other() && !self.can_ask_whether_it_transmits() && self.in_pass(now);
        let reached = direction == Direction::Transmit || self.setup.dialect.tunes_while_transmitting();
        if blind && reached {
            let why = "left alone in the pass: the radio can't say whether it transmits";
            self.note(format!("the {direction} dial"), why);
        }
        blind && reached
    }

    /// What is to be done before anything else, so that the right VFO receives.
    pub(super) fn settle_vfos(&self) -> Option<Errand> {
        match self.vfos {
            Vfos::Right => None,
            Vfos::Doubted(..) => Some(Errand::WhichVfo),
            Vfos::Swapped(..) => Some(Errand::Prepare("swap_vfo".to_owned())),
        }
    }

    /// What an errand that is over says of the VFOs.
    pub(super) fn note_visit(&mut self, errand: &Errand, outcome: &Outcome, now: Moment) {
        if matches!(outcome, Outcome::TooLate | Outcome::Forbidden(_)) {
            return;
        }
        let can_swap = self.setup.dialect.can("do.swap_vfo");
        if self.is_visit(errand) {
            self.visited_at = Some(now.mono);
            if can_swap {
                self.vfos = Vfos::Doubted(0, None);
            }
        }
        if let (Vfos::Swapped(toggles, read), Errand::Prepare(step)) = (self.vfos, errand)
            && step == "swap_vfo"
        {
            self.vfos = Vfos::Doubted(toggles + 1, Some(read));
        }
    }

    /// The frequency of the VFO in use was read.
    pub(super) fn vfo_was_read(&mut self, values: &Values, now: Moment) {
        let (Some(hertz), Vfos::Doubted(toggles, before)) = (values.hertz("hz"), self.vfos) else { return };
        if !self.is_transmitting_dial(hertz, now) {
            self.vfos = Vfos::Right;
            self.notes.retain(|note| note.what != THE_VFOS);
            self.take(values, now);
        } else if before.is_some_and(|before| before != hertz) {
            // Both VFOs have it: the visit's way there was lost. The one in use receives from now on.
            self.vfos = Vfos::Right;
            Direction::BOTH.into_iter().for_each(|direction| self.known.forget_dial(direction));
        } else if toggles < TOGGLES {
            self.vfos = Vfos::Swapped(toggles, hertz);
        } else {
            self.give_up_vfos();
        }
    }

    /// The VFOs stay as they are, and so does the transmitter.
    pub(super) fn give_up_vfos(&mut self) {
        self.vfos = Vfos::Right;
        self.hands_off = true;
        self.roles.unsettle(THE_VFOS.to_owned());
        let why = "the VFOs may have changed places, so the transmitter is left alone; set both by hand, then \
                   beamhand stop and start";
        self.note(THE_VFOS.to_owned(), why);
    }

    /// A plain reading that looks like the transmitting dial's: the VFO in use is to be asked for,
    /// or the first one to be selected again. Whether it was read instead of the receiving one.
    pub(super) fn doubt_vfos(&mut self, values: &Values, now: Moment) -> bool {
        let reads_other = self.setup.uses == Use::HalfDuplex
            && values.hertz("hz").is_some_and(|hertz| self.is_transmitting_dial(hertz, now));
        if !reads_other {
            return false;
        }
        if self.setup.dialect.can("do.swap_vfo") {
            if self.vfos == Vfos::Right {
                self.vfos = Vfos::Doubted(0, None);
            }
            return true;
        }
        self.known.forget_dial(Direction::Receive);
        self.doubt_selection()
    }

    /// The line was lost, perhaps in the middle of a visit.
    pub(super) fn reconsider_vfos(&mut self) {
        let set_up = matches!(self.stage, RadioStage::Following | RadioStage::GivingBack);
        if set_up && self.setup.uses == Use::HalfDuplex && self.setup.dialect.can("do.swap_vfo") {
            self.vfos = Vfos::Doubted(0, None);
        }
    }

    /// What the radio is given back; nothing to a transmitter that is left alone.
    pub(super) fn gifts(&self) -> VecDeque<Errand> {
        let mut gifts = lists::gifts(&self.setup, &self.giving_back, &self.known);
        gifts.retain(|errand| !(self.hands_off && self.is_visit(errand)));
        gifts
    }

    /// What was read before an over says nothing of the time after it.
    pub(super) fn over_began(&mut self) {
        if let Vfos::Swapped(toggles, _) = self.vfos {
            self.vfos = Vfos::Doubted(toggles, None);
        }
        // A receive frequency may have landed there.
        if self.setup.visits_other() && self.setup.dialect.tunes_while_transmitting() {
            self.known.forget_dial(Direction::Transmit);
        }
    }

    /// Whether a frequency is rather the transmitting dial's than the receiving one's.
    fn is_transmitting_dial(&self, read: Hertz, now: Moment) -> bool {
        let planned = |direction| {
            let dial = self.wanted(now)?.dial(direction)?;
            Some(self.setup.on_dial(direction, dial.hertz))
        };
        let stands_at = |direction| self.known.dial(direction).hertz.or_else(|| planned(direction));
        match (stands_at(Direction::Receive), stands_at(Direction::Transmit)) {
            (Some(receive), Some(transmit)) => (read - transmit).abs() < (read - receive).abs(),
            _ => false,
        }
    }

    /// The least time between two commands of a direction, seconds of plan time, besides what the
    /// line needs.
    pub(super) fn pause_s(&self, direction: Direction) -> f64 {
        let visits = direction == Direction::Transmit && self.setup.visits_other() && !self.known.on_air();
        if visits { VISIT_EVERY_S } else { 0.0 }
    }

    /// How long it is until the next visit may be made, seconds of plan time.
    pub(super) fn until_visit_s(&self, now: Moment) -> f64 {
        let since = self.visited_at.map_or(Duration::MAX, |at| now.mono.saturating_sub(at));
        (VISIT_EVERY_S - since.as_secs_f64() * now.speed).clamp(0.01, VISIT_EVERY_S)
    }
}
