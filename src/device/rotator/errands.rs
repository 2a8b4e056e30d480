//! What a rotator is told or asked next.

use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::device::dialect::Exchange;
use crate::device::values::Values;
use crate::terms::{AzEl, Moment, Sweep, later, seconds_between};

use super::backlash::{Past, approached};
use super::route::next_leg;
use super::steer::{Led, Steering, off_by};
use super::{Goal, Hold, POLL_RESTING_S, RETRY, RotatorPlayer};

/// How often a mount on its way is asked where it is, seconds of plan time: a stall is seen in the
/// second reading that shows it.
const POLL_MOVING_S: f64 = 0.5;
/// How often one is asked that may be told to move at any moment, seconds of plan time.
const POLL_BUSY_S: f64 = 1.0;
/// A target that moves by less in a second rests, degrees.
const RESTS: f64 = 0.02;
const OUTSIDE: &str = "the aim lies outside the mount's limits or in a no-go sector, so it is not sent";
const NO_WAY: &str = "there is no way to the aim that comes by no no-go sector, so it is not sent: check the \
                      sectors, and turn the mount by hand if it stands in one";

/// One exchange with the controller.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) enum Errand {
    Stop,
    Aim(Leg),
    Ask,
}

/// Where the mount is sent, on its way to what is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct Leg {
    /// What is sent.
    pub(super) aim: AzEl,
    /// What it is for.
    pub(super) wanted: AzEl,
    /// Whether it goes past that, to take up the gear's play.
    pub(super) past: Option<Past>,
}

impl RotatorPlayer {
    /// What to say now, or when to look again.
    pub(super) fn next_errand(&mut self, now: Moment) -> Result<Errand, Duration> {
        if now.mono < self.not_before {
            return Err(self.not_before);
        }
        if self.stop_due {
            return Ok(Errand::Stop);
        }
        let Some((position, read_at)) = self.position else { return Ok(Errand::Ask) };
        let poll_at = read_at + self.poll_interval(now);
        if self.ask_first || now.mono >= poll_at {
            return Ok(Errand::Ask);
        }
        match self.hold {
            _ if self.halted => return Err(poll_at),
            Hold::Until(when) if now.mono < when => return Err(poll_at.min(when)),
            Hold::Operator(_) => return Err(poll_at),
            Hold::Until(_) | Hold::No => {}
        }
        let (wanted, wake) = match self.steering(position, now) {
            Steering::Turn(wanted) => (Some(wanted), poll_at),
            Steering::Rest(seconds) => {
                (self.wanted, poll_at.min(now.mono + Duration::from_secs_f64(seconds / now.speed)))
            }
            Steering::Refuse => {
                self.refuse(OUTSIDE, now);
                return Err(poll_at.min(self.aim_not_before));
            }
        };
        match wanted.and_then(|wanted| self.leg_to(wanted, position, now)) {
            Some(_) if now.mono < self.aim_not_before => Err(wake.min(self.aim_not_before)),
            Some(Ok(leg)) => Ok(Errand::Aim(leg)),
            Some(Err(why)) => {
                self.refuse(why, now);
                Err(wake.min(self.aim_not_before))
            }
            None => Err(wake),
        }
    }

    /// Where to send the mount so that it comes to `wanted`; `None` where it is on its way.
    fn leg_to(&self, wanted: AzEl, position: AzEl, now: Moment) -> Option<Result<Leg, &'static str>> {
        let sent = self.commanded;
        if sent == Some(wanted) && self.wanted == Some(wanted) {
            return None;
        }
        // Without sectors it is all the same where it may come by.
        let stands = self.setup.no_go.is_empty().then_some(Sweep::at(position));
        let swept = self.whereabouts.swept().or(stands)?;
        let (aim, past) = approached(&self.setup, self.past, position, wanted, self.target_rests(now));
        let aim = self.setup.admit(aim).unwrap_or(wanted);
        if !self.setup.is_free(swept.with(aim)) && self.is_on_a_leg(position) {
            return None;
        }
        let Some(aim) = next_leg(&self.setup, swept, position, aim) else {
            // While it still runs on, more than its place is taken.
            return (!self.moving).then_some(Err(NO_WAY));
        };
        let leg = Leg { aim, wanted, past };
        let is_news = sent != Some(aim) || self.wanted != Some(wanted) || self.past != past;
        is_news.then_some(Ok(leg))
    }

    /// Whether it is on its way to a corner and not there yet.
    fn is_on_a_leg(&self, position: AzEl) -> bool {
        let allowed = self.setup.dead_band.max(2.0 * self.setup.resolution);
        self.commanded.is_some_and(|aim| off_by(aim, position, self.setup.azimuth_only()) > allowed)
    }

    fn steering(&self, position: AzEl, now: Moment) -> Steering {
        let (setup, slew) = (&self.setup, self.learner.slew(self.setup.slew));
        match &self.goal {
            Goal::Stay => Steering::Rest(POLL_RESTING_S),
            Goal::Place(place) => Led { setup, slew, position, plan: |_| Some(*place) }.steer(self.wanted),
            Goal::Plan(plan) => {
                let lag = self.learner.lag();
                let then = later(now.utc, lag);
                let led = Led { setup, slew, position, plan: |wait| plan.at(later(then, wait)) };
                let sets_off = later(now.utc, self.learner.reacts());
                led.rest(self.wanted, |wait| {
                    let (place, until) = plan.rests_at(later(sets_off, wait))?;
                    Some((place, until.map(|until| seconds_between(sets_off, until))))
                })
                .unwrap_or_else(|| led.steer(self.wanted))
            }
        }
    }

    fn target_rests(&self, now: Moment) -> bool {
        let Goal::Plan(plan) = &self.goal else { return true };
        let soon = plan.at(now.utc).zip(plan.at(later(now.utc, 1.0)));
        soon.is_none_or(|(now, soon)| now.angle_to(soon) < RESTS)
    }

    fn poll_interval(&self, now: Moment) -> Duration {
        let seconds = match self.goal {
            _ if self.moving || self.watch.is_under_way() => POLL_MOVING_S,
            Goal::Stay if !self.halted => return Duration::from_secs_f64(POLL_RESTING_S),
            _ => POLL_BUSY_S,
        };
        Duration::from_secs_f64(seconds / now.speed)
    }

    /// What to say; the limits and sectors are looked at once more.
    pub(super) fn exchange(&self, errand: Errand) -> Result<Exchange, String> {
        match errand {
            Errand::Stop => self.setup.say("do.stop", &Values::new()),
            Errand::Aim(Leg { aim, .. }) => {
                let swept = self.whereabouts.swept().unwrap_or(Sweep::at(aim));
                match (self.setup.reaches(aim), self.setup.is_free(swept.with(aim))) {
                    (true, true) => self.setup.aim(aim, &self.scale.values()),
                    (true, false) => Err(NO_WAY.to_owned()),
                    (false, _) => Err(OUTSIDE.to_owned()),
                }
            }
            Errand::Ask if self.setup.azimuth_only() => self.setup.say("ask.azimuth", &Values::new()),
            Errand::Ask => self.setup.say("ask.aim", &Values::new()),
        }
    }

    /// Something that was wanted is not sent; said once, and looked at again a little later. What was
    /// wanted before is void all the same, so a mount that is still on the way there is stopped.
    pub(super) fn refuse(&mut self, why: &str, now: Moment) {
        self.aim_not_before = now.mono + RETRY;
        if self.moving && self.commanded.is_none() {
            self.stop(now);
        }
        if self.note(why) {
            self.journal.refused += 1;
        }
    }
}
