//! A session's stages for one radio, and what is to be done next in each.

use std::collections::VecDeque;
use std::time::Duration;

use crate::device::status::RadioStage;
use crate::terms::Moment;

use super::errand::Errand;
use super::split::Vfos;
use super::{POLL_IDLE, RadioPlayer, lists};

/// After a preparation that failed the next begins so much later, monotonic.
const PREPARE_AGAIN: Duration = Duration::from_secs(2);
impl RadioPlayer {
    /// Begins a stage with its list of what is to be done.
    pub(super) fn enter(&mut self, stage: RadioStage, now: Moment) {
        if stage == RadioStage::Preparing {
            self.corrections = 0;
            self.told.clear();
            self.roles.begin();
            self.hands_off = false;
        }
        if stage == RadioStage::Following {
            self.note_a_lost_hold();
        }
        if stage == RadioStage::Idle {
            self.only_listen(false);
        }
        self.stage = stage;
        self.attempts = 0;
        self.exchanges = 0;
        self.queue = match stage {
            RadioStage::Reading => lists::questions(&self.setup),
            RadioStage::Preparing => lists::preparations(&self.setup, self.wanted(now)),
            RadioStage::GivingBack => self.gifts(),
            RadioStage::Following => lists::reacquaintance(&self.setup),
            RadioStage::Idle | RadioStage::AwaitingSave => VecDeque::new(),
        };
    }

    /// The queue has run empty: what comes next.
    fn advance(&mut self, now: Moment) {
        match self.stage {
            RadioStage::Reading => {
                self.memory = Some(self.known.memory(self.setup.receive_only));
                self.enter(RadioStage::AwaitingSave, now);
            }
            // Before AOS there is time to try again.
            RadioStage::Preparing if self.roles.are_unsettled() && !self.in_pass(now) => {
                self.enter(RadioStage::Preparing, now);
                self.not_before = now.mono + PREPARE_AGAIN;
            }
            RadioStage::Preparing => self.enter(RadioStage::Following, now),
            RadioStage::GivingBack => {
                self.memory = None;
                self.plan = None;
                self.enter(RadioStage::Idle, now);
            }
            RadioStage::Idle | RadioStage::AwaitingSave | RadioStage::Following => {}
        }
    }

    /// The next thing to do, or the monotonic time until which there is nothing.
    pub(super) fn next_errand(&mut self, now: Moment) -> Result<Errand, Duration> {
        if now.mono < self.not_before {
            return Err(self.not_before);
        }
        if let Some(introduction) = self.introduction() {
            return Ok(introduction);
        }
        let confirmation = self.confirmation(now);
        if self.queue.is_empty() && self.vfos == Vfos::Right && confirmation.is_none() {
            self.advance(now);
        }
        let following = self.stage == RadioStage::Following;
        // A question of one frame changes nothing.
        if let Some(question @ Errand::Verify(step)) = &confirmation
            && lists::is_one_frame(&self.setup, step)
        {
            return Ok(question.clone());
        }
        if let Some(errand) = self.settle_vfos().or(confirmation) {
            return match self.with_care(errand, now) {
                Err(until) if following => self.follow(now).map_err(|rest| rest.min(until)),
                careful => careful,
            };
        }
        if self.stage == RadioStage::Preparing {
            self.drop_what_lies_outside(now);
        }
        self.drop_needless_exchange(now);
        if let Some(errand) = self.next_in_queue(now) {
            if !errand.touches_transmitter(&self.setup, following) {
                return Ok(errand);
            }
            match self.with_care(errand, now) {
                // The satellite does not wait for the end of a transmission.
                Err(until) if following => return self.follow(now).map_err(|rest| rest.min(until)),
                careful => return careful,
            }
        }
        if following {
            self.follow(now)
        } else {
            self.poll_if_due(POLL_IDLE / self.poll_items().len().max(1) as u32, now)
        }
    }

    /// A dial on which the radio may not transmit, but might, is not even prepared.
    fn drop_what_lies_outside(&mut self, now: Moment) {
        while let Some(errand) = self.next_in_queue(now)
            && self.is_outside(&errand)
        {
            self.queue.pop_front();
        }
    }

    /// The next errand of the queue. A dial is set to where the plan is by now, not to where it
    /// was when the list was made.
    fn next_in_queue(&mut self, now: Moment) -> Option<Errand> {
        let wanted = self.wanted(now);
        let front = self.queue.front_mut()?;
        if let (Errand::Tune(direction, hertz), RadioStage::Preparing) = (&mut *front, self.stage)
            && let Some(dial) = wanted.and_then(|channel| channel.dial(*direction))
        {
            *hertz = self.setup.dial_for(*direction, dial);
        }
        Some(front.clone())
    }
}
