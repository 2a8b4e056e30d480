//! What came of an errand: what is known now, what is tried again, and what is left to the operator.

use std::time::Duration;

use crate::device::status::{Note, RadioStage};
use crate::device::values::{Value, Values};
use crate::terms::{Direction, Mode, Moment};

use super::errand::Errand;
use super::refusals::Refusals;
use super::{ATTEMPTS, RETRY, RadioPlayer, lists};

/// The pause before the next try grows with each missing answer, up to so many times the first one.
const LONGEST_PAUSE: u32 = 6;

/// A refusal that comes later than this after a command is not of it, monotonic: a radio answers
/// within a fraction of a second, and the line may be busy meanwhile.
const REFUSED_WITHIN: Duration = Duration::from_secs(2);

const NO_ANSWER: &str = "no answer; set it by hand";

impl RadioPlayer {
    /// The errand is done with, well or not.
    pub(super) fn strike(&mut self, errand: &Errand, now: Moment) {
        if self.roles.are_confirmed_by(errand) {
            self.roles.strike(errand, now);
        } else if self.queue.front() == Some(errand) {
            self.queue.pop_front();
            self.attempts = 0;
        }
    }

    /// A question was refused. The hold of the uplink depends on one.
    fn was_refused(&mut self, errand: &Errand) {
        if let Some(item) = errand.asks_for() {
            self.reticence.refused(item);
            self.note_a_lost_hold();
        }
    }

    /// A hold of the uplink that can't be kept, or keeps it for good, is said.
    pub(super) fn note_a_lost_hold(&mut self) {
        let transmits = self.setup.directions().any(|direction| direction == Direction::Transmit);
        if self.setup.hold_uplink && transmits && !self.can_ask_whether_it_transmits() {
            let why = match self.key_said_at {
                Some(_) => {
                    "the radio no longer says whether it transmits; the transmit dial stays until it does"
                }
                None => "the radio can't say whether it transmits, so its dial is tuned during an over, too",
            };
            self.note(Errand::Watch.subject(), why);
        }
    }

    /// A newer plan of the operator's: a mode or a tone that was refused before is tried again.
    pub(super) fn try_again(&mut self) {
        self.corrections = 0;
        self.refusals = Refusals::default();
        self.notes.retain(|note| !Errand::is_mode_or_tone(&note.what));
    }

    /// Whether a refusal of this question is rather one of the silent command before it.
    pub(super) fn knows_question(&self, errand: &Errand) -> bool {
        let asked_before = |item| self.reticence.knows(item);
        let known = matches!(errand, Errand::Verify(_)) && self.roles.are_confirmed_by(errand);
        self.stage == RadioStage::Following && (known || errand.asks_for().is_some_and(asked_before))
    }

    /// Something was refused after it had counted as done, or is being said.
    pub(super) fn take_back(&mut self, why: &str, now: Moment) {
        self.known.lapse();
        match self.current.as_mut().filter(|current| !current.errand.is_question()) {
            Some(current) => current.refused = Some(why.to_owned()),
            None => {
                self.refusals.count_last(now.mono);
                self.doubt_what_was_told_lately(why, now);
            }
        }
        self.enter(RadioStage::Following, now);
        self.not_before = now.mono + RETRY;
    }

    /// What was told just before a refusal may not be in effect.
    fn doubt_what_was_told_lately(&mut self, why: &str, now: Moment) {
        let lately = self.told_at.is_some_and(|at| now.mono.saturating_sub(at) < REFUSED_WITHIN);
        for errand in self.told.clone().into_iter().filter(|_| lately) {
            self.known.doubt(&errand);
            self.leave_to_operator(
                &errand,
                &format!("it may not be set: the radio refused something ({why})"),
            );
        }
    }

    pub(super) fn succeeded(&mut self, errand: &Errand, values: &Values, now: Moment) {
        if *errand == Errand::Greet {
            // It is silent in most languages, and proves nothing.
            return;
        }
        if let Errand::Tune(Direction::Receive, _) = errand {
            self.usage.set_from(self.known.receive.hertz);
        }
        self.known.accept(errand);
        // What was left to the operator and is done after all need not be looked at.
        self.notes.retain(|note| note.what != errand.subject());
        self.step_was_done(errand);
        if matches!(errand, Errand::Mode(..) | Errand::Tone(_)) {
            self.told.retain(|told| !told.sets_the_same(errand));
            self.told.push(errand.clone());
            self.told_at = Some(now.mono);
        }
        match errand {
            Errand::WhichVfo => self.vfo_was_read(values, now),
            Errand::Prepare(step) if step == "exchange_bands" => {
                self.strike(errand, now);
                self.bands_were_exchanged();
                return;
            }
            Errand::Ask(item) if item == "hz" && self.doubt_vfos(values, now) => {}
            Errand::Ask(item) if lists::selected_dial(&self.setup).as_ref() == Some(item) => {
                let receiving = values.hertz("hz").map(|hertz| ("rx_hz", Value::Hertz(hertz)));
                let named =
                    receiving.into_iter().fold(Values::new(), |all, (name, value)| all.with(name, value));
                self.take(&named, now);
            }
            Errand::Ask(item) => self.take(&named(item, values), now),
            _ => self.take(values, now),
        }
        self.strike(errand, now);
        self.see_where_the_dials_are(errand, values);
        let was_mute = self.silences >= ATTEMPTS || self.setup.dialect.can("do.greeting");
        if let Some(item) = errand.asks_for() {
            self.reticence.answered(item);
            self.answers_at_all = true;
            self.silences = 0;
            self.introduced |= ["hz", "rx_hz", "tx_hz"].iter().any(|dial| values.hertz(dial).is_some());
        }
        if std::mem::take(&mut self.out_of_touch) && self.stage == RadioStage::Following {
            self.known.lapse();
            self.enter(RadioStage::Following, now);
            // What is unsettled is looked at again anyway.
            match self.roles.are_unsettled() {
                true => {}
                false if was_mute => self.doubt_everything(now),
                false => self.doubt_a_reset(),
            }
        }
    }

    /// A dial that takes commands and stays where it is would never be noticed by what it refuses.
    fn see_where_the_dials_are(&mut self, errand: &Errand, values: &Values) {
        if let Errand::Tune(direction, hertz) = errand {
            let item = self.setup.item(*direction, "hz");
            let is_suspect = self.stuck.set(*direction, *hertz) && self.stage == RadioStage::Following;
            if is_suspect && lists::pollable(&self.setup).contains(&item) {
                self.queue.push_back(Errand::Ask(item));
            }
        }
        for direction in self.setup.asked() {
            if let Some(hertz) = values.hertz(&self.setup.item(direction, "hz")) {
                let mode = self.known.dial(direction).mode.unwrap_or(Mode::Fm);
                let step = self.setup.law(mode).step;
                self.stuck.read(direction, hertz, step);
            }
        }
        self.journal.stays(self.stuck.sentence());
    }

    pub(super) fn refused(&mut self, errand: &Errand, why: &str, now: Moment) {
        let confirms = self.roles.are_confirmed_by(errand);
        self.strike(errand, now);
        match errand {
            Errand::Verify(_) if confirms => {
                self.leave_to_operator(errand, &format!("not shown any more ({why}); look at it by hand"));
            }
            Errand::Ask(_) | Errand::Watch => self.was_refused(errand),
            Errand::Greet | Errand::WhichVfo | Errand::Verify(_) => {}
            Errand::Tune(direction, _) if self.stage == RadioStage::Preparing => {
                self.known.doubt(errand);
                if *direction == Direction::Transmit {
                    self.roles.unsettle(errand.subject());
                }
                self.leave_to_operator(errand, &format!("not accepted ({why}); look at the radio's bands"));
            }
            Errand::Tune(direction, _) => {
                self.known.doubt(errand);
                self.stuck.refused(*direction);
                self.refusals.count(errand.tunes(), now.mono);
            }
            Errand::TuneLive(_) => {
                self.known.doubt(errand);
                self.refusals.count(errand.tunes(), now.mono);
            }
            Errand::Prepare(_) | Errand::Mode(..) | Errand::Tone(_) => {
                self.leave_to_operator(errand, &format!("not accepted ({why}); set it by hand"));
            }
        }
        self.journal.stays(self.stuck.sentence());
        self.not_before = now.mono + if errand.is_question() { RETRY / 2 } else { RETRY };
    }

    pub(super) fn unanswered(&mut self, errand: &Errand, now: Moment) {
        self.known.doubt(errand);
        self.out_of_touch = true;
        // It may have lost its power, and be deaf until it is greeted: then it is asked first.
        self.greet = self.setup.dialect.can("do.greeting");
        self.introduced &= !self.greet;
        // A radio that is off must not take the time of another one on its bus.
        self.silences = (self.silences + 1).min(LONGEST_PAUSE);
        self.not_before = now.mono + RETRY * self.silences;
        if self.roles.are_confirmed_by(errand) {
            if self.roles.wait(now) {
                self.leave_to_operator(errand, NO_ANSWER);
                self.strike(errand, now);
            }
            return;
        }
        if let Some(item) = errand.asks_for() {
            self.reticence.ignored(item);
        }
        if self.queue.front() != Some(errand) || self.reconsiders_exchange(errand) {
            return;
        }
        self.attempts += 1;
        if self.attempts < ATTEMPTS {
            return;
        }
        // A radio that says nothing at all is waited for; one question that it ignores is not.
        match errand {
            Errand::Ask(_) if !self.answers_at_all || self.stage == RadioStage::GivingBack => {}
            Errand::Ask(_) => self.strike(errand, now),
            // What is owed to the radio is owed until it answers.
            _ if self.stage == RadioStage::GivingBack => {}
            _ => {
                self.leave_to_operator(errand, NO_ANSWER);
                self.strike(errand, now);
            }
        }
    }

    pub(super) fn take(&mut self, values: &Values, now: Moment) {
        let before = self.known.clone();
        let read = self.known.take(&self.setup, values, now.mono);
        if values.flag("transmitting").is_some() {
            self.key_said_at = Some(now.mono);
        }
        let step = self.setup.dialect.step();
        match self.stage {
            RadioStage::Idle => self.usage.note(&before, &self.known, step, now.mono),
            RadioStage::Following if self.setup.receive_only => {
                let step = self.known.receive.mode.map_or(step, |mode| self.setup.law(mode).step);
                if values.hertz(&self.setup.item(Direction::Receive, "hz")).is_some() {
                    self.usage.was_read(now.mono);
                }
                self.usage.note_while_listening(&before, &self.known, step, now.mono);
                let truth = |dial| self.setup.calibration.receive.truth(dial);
                self.hearing.take(values, self.known.receive.hertz.map(truth), now);
            }
            _ => {}
        }
        match (before.on_air(), self.known.on_air()) {
            (true, false) => self.over_ended(now),
            (false, true) => self.over_began(),
            _ => {}
        }
        if !read.is_empty() {
            self.journal.read(read.join(", "), now);
        }
    }

    /// Notes what was not done and is left to the operator.
    pub(super) fn leave_to_operator(&mut self, errand: &Errand, why: &str) {
        if let (Errand::Prepare(step) | Errand::Verify(step), true) =
            (errand, errand.decides_where_it_transmits() && !self.setup.only_receives())
        {
            self.roles.unsettle(step.clone());
        }
        self.note(errand.subject(), why);
    }

    /// Notes something for the operator; whether it was not noted yet.
    pub(super) fn note(&mut self, what: String, why: &str) -> bool {
        let note = Note { what, why: why.to_owned() };
        let is_new = !self.notes.contains(&note);
        if is_new {
            self.notes.push(note);
        }
        is_new
    }
}

/// The answer to a question for the other VFO, whose fields may have the plain names.
fn named(item: &str, values: &Values) -> Values {
    if !item.starts_with("other_") {
        return values.clone();
    }
    let other = |name: &'static str| match name {
        "hz" => "other_hz",
        "mode" => "other_mode",
        _ => name,
    };
    values.iter().fold(Values::new(), |named, (name, value)| named.with(other(name), value))
}
