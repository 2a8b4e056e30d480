//! The player of an azimuth/elevation rotator.

mod axes;
mod backlash;
mod errands;
mod heed;
mod pace;
mod reading;
mod route;
mod setup;
mod steer;
mod watch;
mod whereabouts;

use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::terms::{AzEl, Memo, Moment, remembers};

use super::conversation::Outcome;
use super::dialect::Exchange;
use super::journal::Journal;
use super::order::{AimPlan, Order, RotatorOrder};
use super::player::{Player, Urgency, Wish};
use super::status::{Detail, DeviceStatus, Motion, RotatorView};
use super::symptoms::Fact;
use super::values::Values;

use backlash::Past;
use errands::{Errand, Leg};
use heed::seconds;
use pace::Learner;
use reading::Scale;
pub use setup::{Approach, ByHand, RotatorSetup};
use watch::Watch;
use whereabouts::Whereabouts;

/// How often a mount that rests and was told nothing is asked where it is, monotonic seconds.
const POLL_RESTING_S: f64 = 5.0;
/// After an exchange that failed the next waits this long, monotonic.
const RETRY: Duration = Duration::from_millis(500);

/// In a memo: whether it followed a plan, and where it was sent otherwise.
const HAS_PLAN: &str = "has_plan";
const PLACE: &str = "place";

#[derive(Clone)]
enum Goal {
    Stay,
    Place(AzEl),
    Plan(AimPlan),
}

/// Whether the goal waits.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
enum Hold {
    /// It does not.
    No,
    /// Until this monotonic time.
    Until(Duration),
    /// Until the operator says so.
    Operator(Held),
}

/// Why a mount waits for the operator.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
enum Held {
    /// It was turned by hand.
    ByHand,
    /// Something is wrong with it.
    Faulty,
}

/// Keeps a mount on its plan. Nothing moves before the position was read, nothing leaves the
/// limits or comes by a no-go sector, and a halted mount stays until `resume`.
pub struct RotatorPlayer {
    setup: RotatorSetup,
    goal: Goal,
    halted: bool,
    hold: Hold,
    open: bool,
    stop_due: bool,
    /// The last aim that was sent, while it may still be trusted to be the controller's.
    commanded: Option<AzEl>,
    /// What that aim was for: it may have been a leg on the way.
    wanted: Option<AzEl>,
    /// An azimuth that is gone past before it is approached.
    past: Option<Past>,
    position: Option<(AzEl, Duration)>,
    whereabouts: Whereabouts,
    /// Questions in a row that brought no position.
    misses: u32,
    /// The controller's own pulses per degree, where its language has them.
    scale: Scale,
    /// Whether the last two readings differed.
    moving: bool,
    watch: Watch,
    learner: Learner,
    /// How often it stalled, and went the wrong way, since it was last where it was sent.
    stalls: usize,
    contrary: u32,
    /// What is said while it goes back to its plan.
    hand_note: Option<String>,
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
            hold: Hold::No,
            open: false,
            stop_due: false,
            commanded: None,
            wanted: None,
            past: None,
            position: None,
            whereabouts: Whereabouts::default(),
            misses: 0,
            scale: Scale::default(),
            moving: false,
            watch: Watch::default(),
            learner: Learner::default(),
            stalls: 0,
            contrary: 0,
            hand_note: None,
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

    fn motion(&self) -> Motion {
        match (self.hold, &self.goal, self.position) {
            _ if self.halted => Motion::Halted,
            (Hold::Operator(Held::ByHand), ..) => Motion::ByHand,
            (Hold::Operator(Held::Faulty), ..) => Motion::Stopped,
            (_, _, None) => Motion::Unread,
            (_, Goal::Stay, _) => Motion::Resting,
            (_, Goal::Place(_), _) => Motion::GoingTo,
            (_, Goal::Plan(_), _) => Motion::Following,
        }
    }
}

/// For people.
fn shown(direction: AzEl) -> String {
    format!("azimuth {:.1} elevation {:.1}", direction.azimuth, direction.elevation)
}

remembers!(
    RotatorPlayer,
    kept: [
        halted, hold, open, stop_due, commanded, wanted, past, position, whereabouts, misses, scale, moving,
        watch, learner, stalls, contrary, hand_note, ask_first, not_before, aim_not_before, wished, current, notes,
        journal,
    ],
    left_out: [setup, goal]
);

impl Player for RotatorPlayer {
    fn order(&mut self, order: Order, now: Moment) {
        let Order::Rotator(order) = order else { return };
        if self.halted {
            return;
        }
        self.forget_aim(now);
        self.hold = Hold::No;
        (self.stalls, self.contrary) = (0, 0);
        self.hand_note = None;
        self.notes.clear();
        self.journal.stays(None);
        match order {
            RotatorOrder::Follow(plan) => self.goal = Goal::Plan(plan),
            RotatorOrder::GoTo(place) => self.goal = Goal::Place(place),
            RotatorOrder::Stop => {
                self.goal = Goal::Stay;
                self.stop(now);
            }
            RotatorOrder::GoOn => {}
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
                self.forget_aim(now);
                self.journal.sent("stop".to_owned(), now);
            }
            Some(Errand::Aim(Leg { aim, wanted, past })) => {
                (self.commanded, self.wanted, self.past) = (Some(aim), Some(wanted), past);
                self.whereabouts.sent(aim);
                self.watch.sent(aim, &self.setup, seconds(now));
                self.learner.sent(aim, seconds(now));
                self.journal.sent(shown(aim), now);
            }
            Some(Errand::Ask) => self.watch.asked(seconds(now)),
            None => {}
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
                self.forget_aim(now);
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
        self.forget_aim(now);
        self.ask_first = true;
        self.not_before = now.mono + RETRY;
    }

    fn halt(&mut self, now: Moment) -> Option<Exchange> {
        self.halted = true;
        self.hold = Hold::No;
        self.goal = Goal::Stay;
        self.forget_aim(now);
        self.journal.stays(None);
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
            pace: self.learner.pace(),
            notes: self.notes.clone(),
        });
        self.journal.status(&self.setup.name, detail)
    }

    fn memo(&self) -> Result<Memo, serde_json::Error> {
        let place = if let Goal::Place(place) = &self.goal { Some(*place) } else { None };
        let mut memo = self.memo_of_fields()?;
        memo.insert(PLACE.to_owned(), serde_json::to_value(place)?);
        memo.insert(HAS_PLAN.to_owned(), matches!(self.goal, Goal::Plan(_)).into());
        Ok(memo)
    }

    fn remember(&mut self, memo: &Memo, plan: Option<Order>) -> Result<(), String> {
        let place = Option::<AzEl>::deserialize(memo.get(PLACE).unwrap_or(&serde_json::Value::Null));
        let place = place.map_err(|error| format!("where it was sent can't be read: {error}"))?;
        self.goal = match (memo.get(HAS_PLAN), plan) {
            (Some(serde_json::Value::Bool(false)), _) => place.map_or(Goal::Stay, Goal::Place),
            (_, Some(Order::Rotator(RotatorOrder::Follow(plan)))) => Goal::Plan(plan),
            _ => return Err("the plan that it followed is not known".to_owned()),
        };
        self.remember_fields(memo)
    }
}
