//! A daemon that was killed in a pass: the next one goes on with it, or gives the radios back what they
//! had.

use crate::control::Method;
use crate::daemon::keepsake::Keepsakes;
use crate::daemon::undertaking::Undertaking;
use crate::device::RadioMemory;
use crate::session::{Command, Job};
use crate::terms::{AzEl, Time, later};

use super::requests::with_kept;
use super::{Engine, GIVE_BACK_LATER_S, News, Seen};

/// A pass that is to go on, until it does or a person wants something else.
pub(super) struct TakingUp {
    undertaking: Undertaking,
    left: Left,
    is_being_planned: bool,
}

/// What the radios had before the session that did not end.
struct Left {
    memories: Vec<Option<RadioMemory>>,
    until: Option<Time>,
}

impl Engine {
    /// Begins where a daemon that did not end was.
    pub(super) fn recover(&mut self) {
        let left = self.left_behind();
        match self.undertaking.load() {
            Ok(None) => self.give_back_what(left),
            Ok(Some(undertaking)) => {
                self.parts.session.remember(left.memories.clone());
                self.stored_undertaking = Some(undertaking.clone());
                self.taking_up = Some(TakingUp { undertaking, left, is_being_planned: false });
            }
            Err(why) => {
                tracing::warn!("the pass that a daemon was in which did not end is not known: {why}");
                self.give_back_what(left);
            }
        }
    }

    fn left_behind(&self) -> Left {
        let Keepsakes { radios, until } = self.keepsake.load().unwrap_or_else(|error| {
            tracing::warn!("what the radios had before a session that did not end can't be read: {error}");
            Keepsakes::default()
        });
        let left = Keepsakes { radios, until };
        let of = |name: &str| left.of(name).cloned();
        let memories = self.parts.fleet.radios().iter().map(|radio| of(&radio.name)).collect();
        Left { memories, until }
    }

    /// Gives the radios back what a session that did not end had read; one that ended long ago,
    /// or nobody knows when, retunes no radio that may be in use by now.
    fn give_back_what(&mut self, Left { memories, until }: Left) {
        if memories.iter().all(Option::is_none) {
            return;
        }
        let now = self.parts.clock.now().utc;
        if self.parts.clock.trust().is_trusted() && until.is_some_and(|until| now <= until) {
            tracing::info!("a session did not end: its radios get back what they had");
            if let Some(los) = until.map(|until| later(until, -GIVE_BACK_LATER_S)) {
                self.parts.session.was_interrupted(los);
            }
            let outputs = self.parts.session.recover(memories);
            self.carry_out(outputs, "the session");
        } else {
            tracing::warn!(
                "an earlier session did not end, and too much time has passed to retune a radio by surprise: \
                 it gets back what it had after the next one"
            );
            self.parts.session.remember(memories);
        }
    }

    /// Goes on with the pass as soon as the clock can be trusted; one that is over is not begun.
    pub(super) fn take_up(&mut self, seen: &Seen) {
        let Some(taking) = self.taking_up.as_mut().filter(|taking| !taking.is_being_planned) else { return };
        if !seen.trust.is_trusted() {
            return;
        }
        if seen.now.utc > taking.undertaking.until {
            return self.give_up_taking();
        }
        taking.is_being_planned = true;
        let wanted = taking.undertaking.start.clone();
        self.generation += 1;
        let (planner, tell) = (self.parts.planner.clone(), self.tell.clone());
        let (now, generation, trims) = (seen.now.utc, self.generation, self.trims.clone());
        self.aside("the plan of a pass", move || {
            let planned = planner.refreshed().and_then(|known| known.job(&wanted, now, generation));
            let job = planned.map(|job| with_kept(job, &trims));
            let _ = tell.send(News::TakenUp(Box::new(job)));
        });
    }

    /// The pass is planned again: it goes on, unless a person came first.
    pub(super) fn taken_up(&mut self, planned: Result<Job, String>) {
        let Some(taking) = self.taking_up.take() else { return };
        let Undertaking { until, start, nudge, .. } = &taking.undertaking;
        let begun = planned.and_then(|job| {
            // Newer elements move an end by seconds; another pass is minutes away.
            if job.span.from > *until {
                return Err("it is over".to_owned());
            }
            let job = Box::new(taking.undertaking.go_on(&job));
            let around = self.seen();
            self.order_session(Command::Start(job), &around).map_err(|refusal| refusal.to_string())
        });
        match begun {
            Ok(outputs) => {
                tracing::warn!("{}: taken up again after a daemon that did not end", start.satellite);
                self.carry_out(outputs, "the session");
                self.nudge_again(*nudge);
            }
            Err(why) => {
                tracing::warn!("{}: not taken up again: {why}", start.satellite);
                self.give_back_what(taking.left);
            }
        }
    }

    fn nudge_again(&mut self, nudge: AzEl) {
        if nudge == self.parts.session.nudge() {
            return;
        }
        let seen = self.seen();
        match self.order_session(Command::Nudge(nudge), &seen) {
            Ok(outputs) => self.carry_out(outputs, "the session"),
            Err(refusal) => tracing::warn!("the beam is not nudged again: {refusal}"),
        }
    }

    /// A person's own start or stop counts, and not what a daemon was at before.
    pub(super) fn heed_person(&mut self, method: &Method) {
        match method {
            Method::Stop => self.give_up_taking(),
            Method::Start(_) => self.taking_up = None,
            _ => {}
        }
    }

    fn give_up_taking(&mut self) {
        if let Some(taking) = self.taking_up.take() {
            self.give_back_what(taking.left);
        }
    }

    /// Stores what the session is at, when that has changed.
    pub(super) fn store_undertaking(&mut self) {
        // A rehearsal's time says nothing to a daemon that starts anew.
        if self.taking_up.is_some() || self.parts.clock.is_rehearsal() {
            return;
        }
        let now = Undertaking::of(&self.parts.session);
        if now != self.stored_undertaking {
            self.writer.undertake(now.clone());
            self.stored_undertaking = now;
        }
    }
}
