//! The player of an azimuth/elevation rotator.

mod setup;
mod steer;

use std::time::Duration;

use crate::terms::{AzEl, Moment};

use super::conversation::Outcome;
use super::dialect::Exchange;
use super::journal::Journal;
use super::order::{AimPlan, Order, RotatorOrder};
use super::player::{Player, Urgency, Wish};
use super::status::{Detail, DeviceStatus, Motion, RotatorView};
use super::values::{Value, Values};

pub use setup::RotatorSetup;
use steer::{Steering, steer};

/// How often a mount that may be moving is asked where it is, seconds of plan time.
const POLL_MOVING_S: f64 = 1.0;
/// How often a resting one is asked, monotonic seconds.
const POLL_RESTING_S: f64 = 5.0;
/// The pulses per degree that controllers are known to have (from memory of manuals); with any
/// other the same command would mean another direction.
const PULSES: [f64; 3] = [1.0, 2.0, 4.0];
/// After a question that was not answered the next waits this long, monotonic.
const RETRY: Duration = Duration::from_millis(500);

#[derive(Clone)]
enum Goal {
    Stay,
    Place(AzEl),
    Plan(AimPlan),
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Errand {
    Stop,
    Aim(AzEl),
    Ask,
}

/// Keeps a mount on its plan. Nothing moves before the position was read, nothing leaves the
/// limits, and a halted mount stays until `resume`.
pub struct RotatorPlayer {
    setup: RotatorSetup,
    goal: Goal,
    halted: bool,
    open: bool,
    stop_due: bool,
    /// The last aim that was sent, while it may still be trusted to be the controller's.
    commanded: Option<AzEl>,
    position: Option<(AzEl, Duration)>,
    /// The controller's own pulses per degree, where its language has them.
    scale: Values,
    /// Whether the last two readings differed.
    moving: bool,
    not_before: Duration,
    wished: Option<Errand>,
    current: Option<Errand>,
    journal: Journal,
}

impl RotatorPlayer {
    /// A mount of which nothing is known yet.
    pub fn new(setup: RotatorSetup) -> Self {
        Self {
            setup,
            goal: Goal::Stay,
            halted: false,
            open: false,
            stop_due: false,
            commanded: None,
            position: None,
            scale: Values::new(),
            moving: false,
            not_before: Duration::ZERO,
            wished: None,
            current: None,
            journal: Journal::new(),
        }
    }

    /// Where the mount should be at `moment`.
    fn target(&self, moment: Moment) -> Option<AzEl> {
        match &self.goal {
            Goal::Stay => None,
            Goal::Place(place) => Some(*place),
            Goal::Plan(plan) => plan.at(moment.utc),
        }
    }

    fn next_errand(&mut self, now: Moment) -> Result<Errand, Duration> {
        if self.stop_due {
            return Ok(Errand::Stop);
        }
        let retry_over = now.mono >= self.not_before;
        let Some((_, read_at)) = self.position else {
            return if retry_over { Ok(Errand::Ask) } else { Err(self.not_before) };
        };
        let poll_at = read_at + self.poll_interval(now);
        let mut wake = poll_at.max(self.not_before);
        if !self.halted {
            match self.steering(now) {
                Steering::Turn(aim) => return Ok(Errand::Aim(aim)),
                Steering::Refuse => self.refuse(now),
                Steering::Rest(seconds) => {
                    wake = wake.min(now.mono + Duration::from_secs_f64(seconds / now.speed));
                }
            }
        }
        if now.mono >= poll_at && retry_over { Ok(Errand::Ask) } else { Err(wake) }
    }

    fn steering(&self, now: Moment) -> Steering {
        match &self.goal {
            Goal::Stay => Steering::Rest(POLL_RESTING_S),
            Goal::Place(place) => steer(&self.setup, self.commanded, |_| Some(*place)),
            Goal::Plan(plan) => {
                steer(&self.setup, self.commanded, |wait| plan.at(crate::terms::later(now.utc, wait)))
            }
        }
    }

    /// The plan leads outside the limits: nothing is sent, and the goal is dropped.
    fn refuse(&mut self, now: Moment) {
        self.journal.refused += 1;
        self.journal.sent("nothing: the aim lies outside the mount's limits".to_owned(), now);
        self.goal = Goal::Stay;
    }

    fn poll_interval(&self, now: Moment) -> Duration {
        let busy = self.moving || self.halted || !matches!(self.goal, Goal::Stay);
        Duration::from_secs_f64(if busy { POLL_MOVING_S / now.speed } else { POLL_RESTING_S })
    }

    fn exchange(&self, errand: Errand) -> Option<Exchange> {
        let verb = match (errand, self.setup.azimuth_only()) {
            (Errand::Stop, _) => "do.stop",
            (Errand::Aim(_), false) => "do.aim",
            (Errand::Aim(_), true) => "do.azimuth",
            (Errand::Ask, false) => "ask.aim",
            (Errand::Ask, true) => "ask.azimuth",
        };
        let values = match errand {
            Errand::Aim(aim) => self
                .scale
                .clone()
                .with("az", Value::Number(aim.azimuth))
                .with("el", Value::Number(aim.elevation)),
            Errand::Stop | Errand::Ask => Values::new(),
        };
        self.setup.dialect.exchange(verb, &values, None).ok()
    }

    fn read(&mut self, values: &Values, now: Moment) {
        let Some(azimuth) = values.number("az") else { return };
        let elevation = if self.setup.azimuth_only() { Some(0.0) } else { values.number("el") };
        let Some(elevation) = elevation else { return };
        let position = AzEl::new(azimuth, elevation);
        let scale_fits = |name| values.number(name).is_none_or(|pulses| PULSES.contains(&pulses));
        if !position.is_finite() || !scale_fits("ph") || !scale_fits("pv") {
            return;
        }
        for name in ["ph", "pv"] {
            if let Some(value) = values.get(name) {
                self.scale = std::mem::take(&mut self.scale).with(name, value);
            }
        }
        let resolution = self.setup.dialect.resolution();
        self.moving = self.position.is_some_and(|(last, _)| position.angle_to(last) > resolution / 2.0);
        self.position = Some((position, now.mono));
        self.journal.read(format!("azimuth {azimuth:.1} elevation {elevation:.1}"), now);
        if self.halted && self.moving {
            self.stop_due = true;
        }
    }

    fn motion(&self) -> Motion {
        match (&self.goal, self.position) {
            _ if self.halted => Motion::Halted,
            (_, None) => Motion::Unread,
            (Goal::Stay, _) => Motion::Resting,
            (Goal::Place(_), _) => Motion::GoingTo,
            (Goal::Plan(_), _) => Motion::Following,
        }
    }
}

impl Player for RotatorPlayer {
    fn order(&mut self, order: Order, _now: Moment) {
        let Order::Rotator(order) = order else { return };
        if self.halted {
            return;
        }
        self.commanded = None;
        match order {
            RotatorOrder::Follow(plan) => self.goal = Goal::Plan(plan),
            RotatorOrder::GoTo(place) => self.goal = Goal::Place(place),
            RotatorOrder::Stop => {
                self.goal = Goal::Stay;
                self.stop_due = true;
            }
        }
    }

    fn connected(&mut self, now: Moment) {
        self.open = true;
        self.position = None;
        self.commanded = None;
        self.current = None;
        self.not_before = now.mono;
        self.journal.connected();
    }

    fn disconnected(&mut self, why: &str) {
        self.open = false;
        self.position = None;
        self.commanded = None;
        self.current = None;
        self.journal.disconnected(why);
    }

    fn wish(&mut self, now: Moment) -> Wish {
        let nothing = Wish::Rest(now.mono + Duration::from_secs(1));
        if !self.open {
            return nothing;
        }
        match self.next_errand(now) {
            Err(wake) => Wish::Rest(wake),
            Ok(errand) => {
                self.wished = Some(errand);
                let urgency = match errand {
                    Errand::Stop => Urgency::Stop,
                    Errand::Aim(_) => Urgency::Tune,
                    Errand::Ask => Urgency::Poll,
                };
                self.exchange(errand).map_or(nothing, |exchange| Wish::Say(urgency, exchange))
            }
        }
    }

    fn begun(&mut self, exchange: &Exchange, now: Moment) {
        self.journal.bytes += exchange.bytes() as u64;
        self.current = self.wished.take();
        match self.current {
            Some(Errand::Stop) => {
                self.stop_due = false;
                self.commanded = None;
                self.journal.sent("stop".to_owned(), now);
            }
            Some(Errand::Aim(aim)) => {
                self.commanded = Some(aim);
                self.journal.sent(format!("azimuth {:.1} elevation {:.1}", aim.azimuth, aim.elevation), now);
            }
            Some(Errand::Ask) | None => {}
        }
    }

    fn done(&mut self, outcome: Outcome, now: Moment) {
        let errand = self.current.take();
        self.journal.ended(&outcome, errand == Some(Errand::Ask));
        match (&outcome, errand) {
            (Outcome::Done(values), Some(Errand::Ask)) => self.read(values, now),
            (Outcome::Done(_), _) => {}
            (Outcome::TooLate, Some(Errand::Stop)) => self.stop_due = true,
            (Outcome::TooLate, _) => self.commanded = None,
            (_, Some(Errand::Aim(_))) => {
                self.commanded = None;
                self.not_before = now.mono + RETRY;
            }
            _ => self.not_before = now.mono + RETRY,
        }
    }

    fn overheard(&mut self, _address: Option<u8>, values: &Values, now: Moment) {
        self.read(values, now);
    }

    fn refused_late(&mut self, why: &str, now: Moment) {
        self.journal.ended(&Outcome::Refused(why.to_owned()), true);
        self.commanded = None;
        self.not_before = now.mono + RETRY;
    }

    fn halt(&mut self, _now: Moment) -> Option<Exchange> {
        self.halted = true;
        self.goal = Goal::Stay;
        self.commanded = None;
        self.wished = Some(Errand::Stop);
        self.exchange(Errand::Stop)
    }

    fn resume(&mut self) {
        self.halted = false;
    }

    fn status(&self, now: Moment) -> DeviceStatus {
        let detail = Detail::Rotator(RotatorView {
            motion: self.motion(),
            target: self.target(now),
            position: self.position,
        });
        self.journal.status(&self.setup.name, detail)
    }
}
