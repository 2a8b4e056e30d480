//! Which VFO or band transmits, and whether that is known.
//!
//! An exchange of several frames selects a VFO or a band and comes back. In a language that
//! acknowledges nothing the way back may be lost unseen, and the radio then transmits where its
//! other dial stands. So after each such exchange what the preparation has verified is asked once
//! more, and prepared again if it is no longer so. Until the answer is there no dial is tuned to
//! where the operator may not transmit. Where every frame is acknowledged, a loss is seen, and only
//! then the first VFO is selected again.

use std::collections::VecDeque;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::device::dialect::Exchange;
use crate::device::status::RadioStage;
use crate::terms::Moment;

use super::errand::Errand;
use super::{ATTEMPTS, RadioPlayer, Use, lists};

/// What could not be confirmed is tried again so much later, monotonic.
const CONFIRM_AGAIN: Duration = Duration::from_secs(10);

/// After a missing answer the dials have a turn for so long, monotonic.
const CONFIRM_LATER: Duration = Duration::from_secs(1);

/// What is known of where the radio transmits.
#[derive(Debug, Default, Serialize, Deserialize)]
pub(super) struct Roles {
    /// What is to be confirmed before anything else, and prepared again if need be.
    doubts: VecDeque<Errand>,
    /// How often something of it was prepared again.
    repairs: u32,
    /// How often what is to be confirmed was not answered.
    silences: u32,
    /// Steps of the preparation, and other things, that failed and decide where it transmits.
    unsettled: Vec<String>,
    /// Steps that the radio was seen to have in effect.
    verified: Vec<String>,
    /// When the unsettled was last left so, monotonic.
    left_at: Duration,
    /// Until when the dials have a turn, monotonic.
    not_before: Duration,
    /// The radio was out of touch: it may have been switched off, and have lost what it was told.
    may_be_reset: bool,
}

/// What an exchange does to the roles.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) enum Selects {
    /// One frame, which selects nothing.
    Nothing,
    /// Several frames, of which each is acknowledged.
    Seen,
    /// Several frames, of which one may be lost unseen.
    Unseen,
}

impl Selects {
    pub(super) fn by(exchange: &Exchange) -> Self {
        match exchange.frames().count() {
            0 | 1 => Selects::Nothing,
            frames if frames > exchange.answers() => Selects::Unseen,
            _ => Selects::Seen,
        }
    }
}

impl Roles {
    /// The preparation begins anew.
    pub(super) fn begin(&mut self) {
        self.doubts.clear();
        self.unsettled.clear();
        self.repairs = 0;
        self.may_be_reset = false;
    }

    /// Whether the radio may transmit where another dial than the transmitting one stands.
    pub(super) fn are_unsure(&self) -> bool {
        !self.doubts.is_empty() || self.are_unsettled()
    }

    /// Whether something is to be confirmed.
    fn are_doubted(&self) -> bool {
        !self.doubts.is_empty()
    }

    /// Whether something failed that decides where the radio transmits.
    pub(super) fn are_unsettled(&self) -> bool {
        !self.unsettled.is_empty()
    }

    /// Whether the repeater shift may be on.
    pub(super) fn may_be_shifted(&self) -> bool {
        self.unsettled.iter().any(|what| is_of_the_shift(what))
    }

    /// Whether the radio may transmit where another dial than the transmitting one stands, shift
    /// or no shift.
    pub(super) fn may_be_elsewhere(&self) -> bool {
        !self.doubts.is_empty() || self.unsettled.iter().any(|what| !is_of_the_shift(what))
    }

    /// Something failed that decides where the radio transmits.
    pub(super) fn unsettle(&mut self, what: String) {
        if !self.unsettled.contains(&what) {
            self.unsettled.push(what);
        }
    }

    /// A step is in effect.
    fn settle(&mut self, step: &str) {
        self.unsettled.retain(|what| what != step);
    }

    fn doubt(&mut self, errand: Errand) {
        if !self.doubts.contains(&errand) {
            self.doubts.push_back(errand);
        }
    }

    /// Whether this errand is to confirm the roles.
    pub(super) fn are_confirmed_by(&self, errand: &Errand) -> bool {
        self.doubts.front() == Some(errand)
    }

    /// A confirmation was not answered. Whether it was tried often enough.
    pub(super) fn wait(&mut self, now: Moment) -> bool {
        self.silences += 1;
        self.not_before = now.mono + CONFIRM_LATER;
        self.silences >= ATTEMPTS
    }

    /// The errand is done with, well or not.
    pub(super) fn strike(&mut self, errand: &Errand, now: Moment) {
        if self.are_confirmed_by(errand) {
            self.doubts.pop_front();
            self.silences = 0;
            self.left_at = now.mono;
            self.may_be_reset &= !self.doubts.is_empty();
        }
    }
}

/// Whether the transmitter may be somewhere else than its dial says if this step was not done. A
/// step of any name may select a VFO or a band; these are known not to.
pub(super) fn decides_where_it_transmits(step: &str) -> bool {
    let harmless = ["clarifier_off", "tone_squelch_off", "tone_off"];
    step != "quiet" && !harmless.iter().any(|end| step.ends_with(end))
}

/// Whether a step is about the repeater shift.
fn is_of_the_shift(step: &str) -> bool {
    step.contains("simplex")
}

impl RadioPlayer {
    /// What has to be confirmed or prepared again before anything else.
    pub(super) fn confirmation(&mut self, now: Moment) -> Option<Errand> {
        let tells =
            matches!(self.stage, RadioStage::Preparing | RadioStage::Following | RadioStage::GivingBack);
        if !tells {
            return None;
        }
        let following = self.stage == RadioStage::Following;
        if following && now.mono < self.roles.not_before {
            return None;
        }
        if following && self.roles.doubts.is_empty() && now.mono >= self.roles.left_at + CONFIRM_AGAIN {
            self.roles.repairs = 0;
            let verified =
                |step: &&String| self.roles.verified.contains(step) && lists::is_one_frame(&self.setup, step);
            let again: Vec<String> = self.roles.unsettled.iter().filter(verified).cloned().collect();
            again.into_iter().for_each(|step| self.roles.doubt(Errand::Verify(step)));
        }
        self.roles.doubts.front().cloned()
    }

    /// An exchange is over that selected a VFO or a band, and came back if all went well.
    pub(super) fn doubt_after(&mut self, selects: Selects, failed: bool) {
        if self.setup.only_receives() {
            return;
        }
        if failed && selects != Selects::Nothing && self.setup.uses == Use::HalfDuplex {
            self.doubt_selection();
        }
        if selects == Selects::Unseen {
            self.doubt_what_was_verified();
        }
    }

    /// An answer was missing: what one frame asks for is looked at again.
    pub(super) fn doubt_a_reset(&mut self) {
        if !self.setup.only_receives() && self.stage == RadioStage::Following {
            self.doubt_what_was_verified();
            self.roles.may_be_reset = self.roles.are_doubted();
        }
    }

    /// The radio may have been switched off meanwhile, or its line was lost in the middle of an
    /// exchange. Before AOS there is time to prepare it again. In a pass what was prepared is
    /// looked at, and said again where it can't be read.
    pub(super) fn doubt_everything(&mut self, now: Moment) {
        if self.setup.only_receives() || self.stage != RadioStage::Following {
            return;
        }
        if !self.in_pass(now) {
            self.known.forget_settings();
            self.enter(RadioStage::Preparing, now);
            return;
        }
        self.doubt_a_reset();
        let mut blind = self.deciding_steps();
        blind.retain(|step| !self.setup.dialect.can(&format!("ask.{step}")));
        if !blind.is_empty() {
            self.known.tone = None;
        }
        blind.into_iter().map(Errand::Prepare).for_each(|errand| self.roles.doubt(errand));
    }

    /// The radio has lost what it was told: all of it is said again, as far as care allows.
    fn begin_anew(&mut self, now: Moment) {
        self.known.forget_settings();
        if !self.in_pass(now) {
            self.enter(RadioStage::Preparing, now);
            return;
        }
        // Modes and dials are read first where they can be.
        self.enter(RadioStage::Following, now);
        self.roles.doubts.clear();
        for step in lists::steps(&self.setup) {
            self.roles.doubt(Errand::Prepare(step.clone()));
            if self.setup.dialect.can(&format!("ask.{step}")) {
                self.roles.doubt(Errand::Verify(step));
            }
        }
    }

    /// The first VFO is to be selected again. Whether there is a word for that.
    pub(super) fn doubt_selection(&mut self) -> bool {
        let mut steps = self.deciding_steps();
        steps.retain(|step| step.contains("selected"));
        let can = !steps.is_empty();
        steps.into_iter().for_each(|step| self.roles.doubt(Errand::Prepare(step)));
        can
    }

    /// What the radio once had in effect is asked for again, where one frame does it and the
    /// preparation is past it.
    fn doubt_what_was_verified(&mut self) {
        for step in self.deciding_steps() {
            let to_come = self.queue.contains(&Errand::Prepare(step.clone()));
            if !to_come && self.roles.verified.contains(&step) && lists::is_one_frame(&self.setup, &step) {
                self.roles.doubt(Errand::Verify(step));
            }
        }
    }

    /// The steps of the preparation that decide where the radio transmits. Of several that are
    /// asked for by the same question the last one stands.
    fn deciding_steps(&self) -> Vec<String> {
        let question = |step: &String| Errand::Verify(step.clone()).encoded(&self.setup).ok();
        let mut steps: Vec<String> = Vec::new();
        for step in lists::steps(&self.setup).into_iter().filter(|step| decides_where_it_transmits(step)) {
            if let Some(asked) = question(&step) {
                steps.retain(|earlier| {
                    question(earlier).is_none_or(|other| !other.frames().eq(asked.frames()))
                });
            }
            steps.push(step);
        }
        steps
    }

    /// A step was done: where it can be read, only the reading counts.
    pub(super) fn step_was_done(&mut self, errand: &Errand) {
        match errand {
            Errand::Verify(step) => {
                self.roles.settle(step);
                if !self.roles.verified.contains(step) {
                    self.roles.verified.push(step.clone());
                }
            }
            Errand::Prepare(step) if !self.setup.dialect.can(&format!("ask.{step}")) => {
                self.roles.settle(step);
            }
            _ => {}
        }
    }

    /// The radio shows otherwise: that is prepared again, a few times. Whether it is.
    pub(super) fn prepares_again(&mut self, errand: &Errand, now: Moment) -> bool {
        let Errand::Verify(step) = errand else { return false };
        if !self.roles.are_confirmed_by(errand) || self.roles.repairs >= ATTEMPTS {
            return false;
        }
        if std::mem::take(&mut self.roles.may_be_reset) {
            self.begin_anew(now);
            return true;
        }
        self.roles.repairs += 1;
        self.roles.doubts.push_front(Errand::Prepare(step.clone()));
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::dialect::Dialect;
    use crate::device::values::Values;

    /// Steps that need not be done, and the frames of each: the codes are from memory of manuals.
    #[test]
    fn only_steps_whose_frames_leave_the_transmitter_where_it_is_may_be_left_undone() {
        for (dialect, step, frame) in [
            ("semicolon-eleven", "quiet", &b"AI0;"[..]),
            ("semicolon-eleven", "clarifier_off", b"RT0;"),
            ("semicolon-nine", "tone_squelch_off", b"CT00;"),
            ("fe-frames", "clarifier_off", &[0xFE, 0xFE, 0x4C, 0xE0, 0x21, 0x01, 0x00, 0xFD]),
            ("fe-frames", "tone_squelch_off", &[0xFE, 0xFE, 0x4C, 0xE0, 0x16, 0x43, 0x00, 0xFD]),
            ("five-byte", "clarifier_off", &[0, 0, 0, 0, 0x85]),
            ("five-byte", "tone_off", &[0x8A, 0, 0, 0, 0x0A]),
            ("five-byte-duplex", "receive_tone_off", &[0x8A, 0, 0, 0, 0x1A]),
        ] {
            assert!(!decides_where_it_transmits(step), "{step}");
            let dialect = Dialect::builtin(dialect).unwrap();
            let said = dialect.exchange(&format!("do.{step}"), &Values::new(), Some(0x4C)).unwrap();
            assert_eq!(said.frames().collect::<Vec<_>>(), [frame], "{step}");
        }
    }

    #[test]
    fn every_other_step_decides_where_it_transmits_however_like_a_harmless_one_it_is_named() {
        for step in [
            "simplex",
            "transmit_simplex",
            "split_on",
            "split_off",
            "main_selected",
            "vfo_a_selected",
            "duplex_on",
            "satellite_off",
            "unquiet",
            "quiet_split",
            "quiet ",
            "QUIET",
            "clarifier",
            "clarifier_on",
            "clarifier_off_b",
            "tone_squelch",
            "tone_squelch_on",
            "tone",
            "tone_on",
            "toneoff",
            "one_off",
            "off",
            "",
        ] {
            assert!(decides_where_it_transmits(step), "{step:?}");
        }
    }
}
