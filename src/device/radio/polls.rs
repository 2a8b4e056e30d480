//! Questions between the commands: where the dials stand, and whether the radio is there.

use std::time::Duration;

use crate::device::status::RadioStage;
use crate::terms::Moment;

use super::errand::Errand;
use super::{RETRY, RadioPlayer, lists};

/// How often a dial is read back while the radio follows, if there is time, seconds of plan time.
const DIAL_S: f64 = 1.25;
/// How often it is asked whether it transmits, where nothing else depends on that: an over of two
/// seconds has to be seen. Seconds of plan time.
const KEY_S: f64 = 0.9;
/// How often it is asked what it hears while it listens: five times a second at least. Seconds of plan time.
const HEARD_S: f64 = 0.15;
/// A question that did not fit between the tuning commands for so many times as long goes before
/// them: a dial that was turned by hand has to be seen.
const OVERDUE: f64 = 2.0;
/// Between two questions that go before the tuning commands these have so many times as long.
const SHARE: u32 = 4;

impl RadioPlayer {
    /// The question that goes before the tuning commands, if one has waited for too long.
    pub(super) fn overdue_poll(&self, now: Moment) -> Option<Errand> {
        let rested = self.polled_at.is_none_or(|at| now.mono >= at + self.longest_poll() * SHARE);
        let (item, waited) = self.most_due(now)?;
        (rested && waited > OVERDUE).then(|| self.poll(item, now).ok()).flatten()
    }

    /// A question, if one is due and is over before a dial is worth a command at `until`.
    pub(super) fn poll_before(&mut self, until: Duration, now: Moment) -> Result<Errand, Duration> {
        if until.saturating_sub(now.mono) <= self.longest_poll() {
            return Err(until);
        }
        let Some((item, waited)) = self.most_due(now) else { return Err(until) };
        if waited < 1.0 {
            return Err(until.min(now.mono + self.next_due_in(now)));
        }
        self.poll(item, now)
    }

    /// What has waited longest while the radio follows, and how many of its intervals.
    fn most_due(&self, now: Moment) -> Option<(String, f64)> {
        let waited = |item: String| {
            let waited = self.waited(&item, now);
            (item, waited)
        };
        self.poll_items().into_iter().map(waited).max_by(|one, other| one.1.total_cmp(&other.1))
    }

    /// How many of its intervals an item has waited.
    fn waited(&self, item: &str, now: Moment) -> f64 {
        let since = self.asked_at.get(item).map(|at| now.mono.saturating_sub(*at).as_secs_f64());
        since.map_or(f64::INFINITY, |since| since * now.speed / interval_s(item))
    }

    /// When the next one is due: not always the one that has waited for most of its interval.
    fn next_due_in(&self, now: Moment) -> Duration {
        let items = self.poll_items().into_iter();
        let rest = |item: String| (1.0 - self.waited(&item, now)).max(0.0) * interval_s(&item) / now.speed;
        Duration::from_secs_f64(items.map(rest).fold(DIAL_S, f64::min))
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
        self.poll(items[self.next_poll % items.len()].clone(), now)
    }

    /// This question, unless the VFO that transmits might answer it.
    fn poll(&self, item: String, now: Moment) -> Result<Errand, Duration> {
        if self.setup.visits_other() && self.can_ask_whether_it_transmits() {
            match self.known.transmitting(now.mono) {
                Some(false) => {}
                Some(true) => return Err(now.mono + RETRY / 2),
                None => return Ok(Errand::Watch),
            }
        }
        Ok(Errand::Ask(item))
    }

    /// What is asked in turn. While the radio follows and something depends on its transmit key,
    /// that is watched anyway.
    pub(super) fn poll_items(&self) -> Vec<String> {
        let following = self.stage == RadioStage::Following;
        let watched = following && self.setup.directions().any(|direction| self.heeds_key(direction));
        let mut items = lists::pollable(&self.setup);
        let is_watched = |item: &str| watched && item == "transmitting";
        items.retain(|item| !is_watched(item) && !self.hearing.comes_along(item));
        if !following {
            items.retain(|item| !lists::HEARD.contains(&item.as_str()));
        }
        // A radio that answers none of them may be off: it goes on being asked.
        if items.iter().any(|item| !self.reticence.is_about(item)) {
            items.retain(|item| !self.reticence.is_about(item));
        }
        items
    }

    /// Whether the radio can be asked whether it transmits.
    pub(super) fn can_ask_whether_it_transmits(&self) -> bool {
        self.setup.dialect.can("ask.transmitting") && !self.reticence.is_about("transmitting")
    }

    /// When it was last asked that, monotonic.
    pub(super) fn key_asked_at(&self) -> Option<Duration> {
        self.asked_at.get("transmitting").copied()
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

/// How often an item is asked for while the radio follows, seconds of plan time.
fn interval_s(item: &str) -> f64 {
    match item {
        "transmitting" => KEY_S,
        item if lists::HEARD.contains(&item) => HEARD_S,
        _ => DIAL_S,
    }
}
