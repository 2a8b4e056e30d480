//! The player of an azimuth/elevation rotator.

mod reading;
mod setup;
mod standstill;
mod steer;

use std::time::Duration;

use crate::terms::{AzEl, Moment, later};

use super::conversation::Outcome;
use super::dialect::Exchange;
use super::journal::Journal;
use super::order::{AimPlan, Order, RotatorOrder};
use super::player::{Player, Urgency, Wish};
use super::status::{Detail, DeviceStatus, Motion, RotatorView};
use super::symptoms::Fact;
use super::values::Values;

use reading::{Scale, Verdict};
pub use setup::RotatorSetup;
use standstill::Standstill;
use steer::{Steering, off_by, steer};

/// How often a mount that may be moving is asked where it is, seconds of plan time.
const POLL_MOVING_S: f64 = 1.0;
/// How often a resting one is asked, monotonic seconds.
const POLL_RESTING_S: f64 = 5.0;
/// After an exchange that failed the next waits this long, monotonic.
const RETRY: Duration = Duration::from_millis(500);
/// A position that was missed so often in a row is not known any more.
const MISSES: u32 = 3;
const IMPOSSIBLE: &str = "it says that it stands where its limits do not let it be, so it is not moved: check \
                          the limits in the configuration and the controller's own calibration";
/// How often an aim is sent again to a mount that stays where it is.
const REPEATS: u32 = 4;

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
    /// Questions in a row that brought no position.
    misses: u32,
    /// The controller's own pulses per degree, where its language has them.
    scale: Scale,
    /// Whether the last two readings differed.
    moving: bool,
    /// Readings in a row of a mount that stands still off its aim, and how often it was told again.
    idle_readings: u32,
    repeats: u32,
    standstill: Standstill,
    /// Where it is has to be asked before it is sent anywhere again.
    ask_first: bool,
    not_before: Duration,
    aim_not_before: Duration,
    wished: Option<Errand>,
    current: Option<Errand>,
    notes: Vec<String>,
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
            misses: 0,
            scale: Scale::default(),
            moving: false,
            idle_readings: 0,
            repeats: 0,
            standstill: Standstill::default(),
            ask_first: false,
            not_before: Duration::ZERO,
            aim_not_before: Duration::ZERO,
            wished: None,
            current: None,
            notes: Vec::new(),
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
        if now.mono < self.not_before {
            return Err(self.not_before);
        }
        if self.stop_due {
            return Ok(Errand::Stop);
        }
        let Some((_, read_at)) = self.position else { return Ok(Errand::Ask) };
        let poll_at = read_at + self.poll_interval(now);
        if self.ask_first || now.mono >= poll_at {
            return Ok(Errand::Ask);
        }
        if self.halted {
            return Err(poll_at);
        }
        match self.steering(now) {
            Steering::Turn(_) if now.mono < self.aim_not_before => Err(poll_at.min(self.aim_not_before)),
            Steering::Turn(aim) => Ok(Errand::Aim(aim)),
            Steering::Refuse => {
                self.refuse("the aim lies outside the mount's limits, so it is not sent", now);
                Err(poll_at.min(self.aim_not_before))
            }
            Steering::Rest(seconds) => {
                Err(poll_at.min(now.mono + Duration::from_secs_f64(seconds / now.speed)))
            }
        }
    }

    fn steering(&self, now: Moment) -> Steering {
        match &self.goal {
            Goal::Stay => Steering::Rest(POLL_RESTING_S),
            Goal::Place(place) => steer(&self.setup, self.commanded, |_| Some(*place)),
            Goal::Plan(plan) => steer(&self.setup, self.commanded, |wait| plan.at(later(now.utc, wait))),
        }
    }

    /// Something that was wanted is not sent; said once, and looked at again a little later.
    fn refuse(&mut self, why: &str, now: Moment) {
        self.aim_not_before = now.mono + RETRY;
        if self.note(why) {
            self.journal.refused += 1;
        }
    }

    /// Whether the note is a new one.
    fn note(&mut self, note: &str) -> bool {
        let is_new = !self.notes.iter().any(|known| known == note);
        if is_new {
            self.notes.push(note.to_owned());
        }
        is_new
    }

    fn poll_interval(&self, now: Moment) -> Duration {
        let busy = self.moving || self.halted || !matches!(self.goal, Goal::Stay);
        Duration::from_secs_f64(if busy { POLL_MOVING_S / now.speed } else { POLL_RESTING_S })
    }

    fn exchange(&self, errand: Errand) -> Result<Exchange, String> {
        match errand {
            Errand::Stop => self.setup.say("do.stop", &Values::new()),
            Errand::Aim(aim) => self.setup.aim(aim, &self.scale.values()),
            Errand::Ask if self.setup.azimuth_only() => self.setup.say("ask.azimuth", &Values::new()),
            Errand::Ask => self.setup.say("ask.aim", &Values::new()),
        }
    }

    fn read(&mut self, values: &Values, now: Moment) {
        let Some(position) = reading::position(values, &self.setup) else { return };
        if !reading::is_possible(position, &self.setup) {
            self.journal.read(format!("{}: impossible, so it is not used", shown(position)), now);
            self.note(IMPOSSIBLE);
            self.position = None;
            self.commanded = None;
            self.not_before = now.mono + RETRY;
            return;
        }
        self.notes.retain(|note| note != IMPOSSIBLE);
        match self.scale.judge(values) {
            Verdict::Known => {}
            Verdict::Doubtful => {
                self.ask_first = true;
                self.not_before = now.mono + RETRY / 5;
                return;
            }
            Verdict::Changed => {
                self.note("the controller's pulses per degree changed, so it was stopped; `start` again");
                self.goal = Goal::Stay;
                self.commanded = None;
                self.stop_due = true;
            }
        }
        let resolution = self.setup.dialect.resolution();
        self.moving = self.position.is_some_and(|(last, _)| position.angle_to(last) > resolution / 2.0);
        self.position = Some((position, now.mono));
        self.ask_first = false;
        self.journal.read(shown(position), now);
        if self.halted && self.moving {
            self.stop_due = true;
        }
        let resolution = self.setup.dialect.resolution();
        let is_off = self.standstill.aim().is_some_and(|aim| self.is_off(position, aim));
        self.journal.stays(self.standstill.judge(position, is_off, resolution, now));
        self.see_whether_it_obeys(position);
    }

    fn is_off(&self, position: AzEl, aim: AzEl) -> bool {
        let allowed = self.setup.dead_band.max(2.0 * self.setup.dialect.resolution());
        off_by(aim, position, self.setup.azimuth_only()) > allowed
    }

    /// A controller that refuses nothing aloud may have lost an aim: a mount that stands still off
    /// its aim is told again, a few times.
    fn see_whether_it_obeys(&mut self, position: AzEl) {
        let Some(aim) = self.commanded else { return };
        if self.moving || !self.is_off(position, aim) {
            self.idle_readings = 0;
            return;
        }
        self.idle_readings += 1;
        if self.idle_readings >= 3 && self.repeats < REPEATS {
            self.idle_readings = 0;
            self.repeats += 1;
            self.commanded = None;
        }
    }

    /// Nothing came of a question.
    fn missed(&mut self) {
        self.misses += 1;
        if self.misses >= MISSES {
            self.position = None;
            self.commanded = None;
        }
    }

    fn forget_the_controller(&mut self) {
        self.scale = Scale::default();
        self.standstill.over();
        self.position = None;
        self.commanded = None;
        self.current = None;
        self.moving = false;
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

/// For people.
fn shown(direction: AzEl) -> String {
    format!("azimuth {:.1} elevation {:.1}", direction.azimuth, direction.elevation)
}

impl Player for RotatorPlayer {
    fn order(&mut self, order: Order, _now: Moment) {
        let Order::Rotator(order) = order else { return };
        if self.halted {
            return;
        }
        self.commanded = None;
        self.repeats = 0;
        self.notes.clear();
        self.standstill.over();
        match order {
            RotatorOrder::Follow(plan) => self.goal = Goal::Plan(plan),
            RotatorOrder::GoTo(place) => self.goal = Goal::Place(place),
            RotatorOrder::Stop => {
                self.goal = Goal::Stay;
                self.stop_due = true;
                self.not_before = Duration::ZERO;
            }
        }
    }

    fn connected(&mut self, now: Moment) {
        self.open = true;
        self.forget_the_controller();
        self.not_before = now.mono;
        self.journal.connected();
    }

    fn disconnected(&mut self, why: &str) {
        self.open = false;
        self.forget_the_controller();
        self.journal.disconnected(why);
    }

    fn wish(&mut self, now: Moment) -> Wish {
        if !self.open {
            return Wish::Rest(now.mono + Duration::from_secs(1));
        }
        let errand = match self.next_errand(now) {
            Ok(errand) => errand,
            Err(wake) => return Wish::Rest(wake),
        };
        let urgency = match errand {
            Errand::Stop => Urgency::Stop,
            Errand::Aim(_) => Urgency::Tune,
            Errand::Ask => Urgency::Poll,
        };
        match self.exchange(errand) {
            Ok(exchange) => {
                self.wished = Some(errand);
                Wish::Say(urgency, exchange)
            }
            Err(why) => {
                self.refuse(&why, now);
                Wish::Rest(self.aim_not_before)
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
                self.standstill.sent(aim, self.position, now);
                self.idle_readings = 0;
                self.journal.sent(shown(aim), now);
            }
            Some(Errand::Ask) | None => {}
        }
    }

    fn done(&mut self, outcome: Outcome, now: Moment) {
        let errand = self.current.take();
        self.journal.ended(&outcome, errand == Some(Errand::Ask));
        match (&outcome, errand) {
            (Outcome::Done(values), Some(Errand::Ask)) => {
                self.misses = 0;
                self.read(values, now);
            }
            (Outcome::Done(_), _) | (Outcome::TooLate, Some(Errand::Ask) | None) => {}
            (_, Some(Errand::Stop)) => {
                // A stop is not done with before it has left.
                self.stop_due = true;
                self.not_before = now.mono + RETRY;
            }
            (_, Some(Errand::Aim(_))) => {
                self.commanded = None;
                self.ask_first = true;
                self.not_before = now.mono + RETRY;
            }
            (_, Some(Errand::Ask) | None) => {
                self.missed();
                self.not_before = now.mono + RETRY;
            }
        }
    }

    fn overheard(&mut self, _address: Option<u8>, values: &Values, now: Moment) {
        self.read(values, now);
    }

    fn noticed(&mut self, fact: &Fact) {
        self.journal.noticed(fact);
    }

    fn refused_late(&mut self, why: &str, now: Moment) {
        self.journal.ended(&Outcome::Refused(why.to_owned()), true);
        self.commanded = None;
        self.ask_first = true;
        self.not_before = now.mono + RETRY;
    }

    fn halt(&mut self, _now: Moment) -> Option<Exchange> {
        self.halted = true;
        self.standstill.over();
        self.goal = Goal::Stay;
        self.commanded = None;
        self.wished = Some(Errand::Stop);
        self.exchange(Errand::Stop).ok()
    }

    fn resume(&mut self) {
        self.halted = false;
    }

    fn status(&self, now: Moment) -> DeviceStatus {
        let detail = Detail::Rotator(RotatorView {
            motion: self.motion(),
            target: self.target(now),
            position: self.position,
            stop_pending: self.stop_due || self.current == Some(Errand::Stop),
            notes: self.notes.clone(),
        });
        self.journal.status(&self.setup.name, detail)
    }
}
