//! Questions between the commands: where the dials stand, and whether the radio is there.

use std::time::Duration;

use crate::device::status::RadioStage;
use crate::terms::Moment;

use super::errand::Errand;
use super::{ATTEMPTS, RETRY, RadioPlayer, lists};

/// How often each dial is read back while the radio follows, seconds of plan time.
const POLL_S: f64 = 2.4;
/// A question that did not fit between the tuning commands for so long goes before them, seconds
/// of plan time: a dial that was turned by hand has to be seen.
const OVERDUE_S: f64 = 2.5;
impl RadioPlayer {
    /// Whether the radio has not been asked anything for too long.
    pub(super) fn poll_is_overdue(&self, now: Moment) -> bool {
        let since = self.polled_at.map(|at| now.mono.saturating_sub(at).as_secs_f64() * now.speed);
        since.is_none_or(|since| since > OVERDUE_S)
    }

    /// A question, if one is due and is over before a dial is worth a command at `until`.
    pub(super) fn poll_before(&mut self, until: Duration, now: Moment) -> Result<Errand, Duration> {
        if until.saturating_sub(now.mono) <= self.longest_poll() {
            return Err(until);
        }
        let each = POLL_S / self.poll_items().len().max(1) as f64;
        self.poll_if_due(Duration::from_secs_f64(each / now.speed), now).map_err(|due| due.min(until))
    }

    /// The next question in turn, if `interval` has passed since the last one.
    pub(super) fn poll_if_due(&mut self, interval: Duration, now: Moment) -> Result<Errand, Duration> {
        let due = self.polled_at.map_or(Duration::ZERO, |at| at + interval);
        if now.mono < due {
            return Err(due);
        }
        let items = self.poll_items();
        if items.is_empty() {
            return Err(now.mono + interval);
        }
        if self.setup.visits_other() && self.can_ask_whether_it_transmits() {
            // Else it might be answered by the VFO that transmits.
            match self.known.transmitting(now.mono) {
                Some(false) => {}
                Some(true) => return Err(now.mono + RETRY / 2),
                None => return Ok(Errand::Watch),
            }
        }
        Ok(Errand::Ask(items[self.next_poll % items.len()].clone()))
    }

    /// What is asked in turn. While the radio follows and something depends on its transmit key,
    /// that is watched anyway.
    pub(super) fn poll_items(&self) -> Vec<String> {
        let following = self.stage == RadioStage::Following;
        let watched = following && self.setup.directions().any(|direction| self.heeds_key(direction));
        let mut items = lists::pollable(&self.setup);
        let is_watched = |item: &str| watched && item == "transmitting";
        items.retain(|item| !self.was_unhelpful(item) && !is_watched(item));
        items
    }

    /// Whether the radio has refused this question, or said nothing to it, too often.
    fn was_unhelpful(&self, item: &str) -> bool {
        self.unhelpful.get(item).is_some_and(|times| *times >= ATTEMPTS)
    }

    /// Whether the radio can be asked whether it transmits.
    pub(super) fn can_ask_whether_it_transmits(&self) -> bool {
        self.setup.dialect.can("ask.transmitting") && !self.was_unhelpful("transmitting")
    }

    /// How long the slowest question blocks the line.
    fn longest_poll(&self) -> Duration {
        let polls = self.poll_items().into_iter().map(Errand::Ask);
        let longest = polls
            .filter_map(|errand| Some(self.tempo.whole(&errand.encoded(&self.setup).ok()?)))
            .fold(0.0, f64::max);
        Duration::from_secs_f64(longest).min(RETRY)
    }
}
