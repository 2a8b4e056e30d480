//! The player of a radio: reads what it has, prepares it, keeps its dials on the plan, gives
//! back what it had.

mod bands;
mod care;
mod errand;
mod follow;
mod hearing;
mod hold;
mod introduction;
mod known;
mod law;
mod lists;
mod polls;
mod refusals;
mod results;
mod reticence;
mod roles;
mod scale;
mod setup;
mod split;
mod stages;
mod stuck;
mod tempo;
mod usage;
mod view;

use std::collections::{HashMap, VecDeque};
use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::terms::{Channel, Direction, Memo, Moment, remembers};

use super::conversation::Outcome;
use super::dialect::Exchange;
use super::journal::Journal;
use super::order::{ChannelPlan, Order, RadioMemory, RadioOrder};
use super::player::{Player, Wish};
use super::status::{Detail, DeviceStatus, Drift, Note, RadioStage};
use super::symptoms::Fact;
use super::values::Values;

use errand::Errand;
use hearing::Hearing;
use known::Known;
pub use law::{DialLaw, Verdict, Want};
use refusals::Refusals;
use reticence::Reticence;
use roles::{Roles, Selects};
pub use scale::{ByMode, Calibration, Correction};
pub use setup::{RadioSetup, Use};
use split::Vfos;
use stuck::Stuck;
use tempo::Tempo;
use usage::Usage;

/// After an exchange that failed the next waits this long, monotonic.
const RETRY: Duration = Duration::from_millis(500);
/// How often a radio that is left alone is asked where its dials are and whether it transmits,
/// monotonic.
const POLL_IDLE: Duration = Duration::from_secs(5);
/// How often a command is tried that is not answered, before it is left to the operator.
const ATTEMPTS: u32 = 3;

/// What is being said.
#[derive(Serialize, Deserialize)]
struct Current {
    errand: Errand,
    verb: String,
    begun: Duration,
    /// Whether the radio owes an answer.
    answered: bool,
    selects: Selects,
    /// Something was refused meanwhile in a language whose commands are silent.
    refused: Option<String>,
}

/// In a memo: whether it followed a plan.
const HAS_PLAN: &str = "has_plan";

/// What the note is about that stands for the whole session.
const THE_TRANSMITTER: &str = "the transmitter";

/// Keeps a radio on its plan.
pub struct RadioPlayer {
    setup: RadioSetup,
    stage: RadioStage,
    plan: Option<ChannelPlan>,
    /// What is to be done in order before anything else.
    queue: VecDeque<Errand>,
    wished: Option<Errand>,
    current: Option<Current>,
    known: Known,
    stuck: Stuck,
    memory: Option<RadioMemory>,
    giving_back: RadioMemory,
    tempo: Tempo,
    open: bool,
    /// The radio has to be greeted before it understands anything else.
    greet: bool,
    not_before: Duration,
    polled_at: Option<Duration>,
    next_poll: usize,
    /// When each question was asked last, monotonic.
    asked_at: HashMap<String, Duration>,
    attempts: u32,
    /// How many answers in a row were missing.
    silences: u32,
    /// An answer was missing: what is known of the radio is not to be trusted until it answers.
    out_of_touch: bool,
    /// How often a mode or tone was set again that the radio had not kept, since the preparation.
    corrections: u32,
    /// The modes and the tone that were set last.
    told: Vec<Errand>,
    /// When the last of them was, monotonic.
    told_at: Option<Duration>,
    /// The last exchange was a command that is silent: a refusal may still come.
    may_be_refused: bool,
    /// What is known of where the radio transmits.
    roles: Roles,
    /// Whether the right VFO receives, on a half-duplex radio that can only toggle.
    vfos: Vfos,
    /// When the other VFO was set last, monotonic.
    visited_at: Option<Duration>,
    /// How often the bands were to be exchanged since the stage was entered.
    exchanges: u32,
    /// What the operator was seen to do while the radio was left alone.
    usage: Usage,
    /// What it hears, while it is only listened with.
    hearing: Hearing,
    /// It is only listened with; `setup` is then that of a receiver.
    listens: bool,
    /// What it is used for when it is not only listened with.
    full_use: Use,
    /// A frequency that is set just as the key is pressed may land on the transmitting VFO.
    may_land_on_transmitter: bool,
    /// Unless split or the satellite function is on, transmitter and receiver are on one dial; while it is only
    /// listened with, split stays as it is, and the satellite function is off.
    shares_a_dial: bool,
    /// The VFOs changed places for good: the transmitter is left alone.
    hands_off: bool,
    /// The plan is a newer one that the operator asked for, and its modes and tone are not set yet.
    by_operator: bool,
    /// Questions that the radio does not answer, or refuses.
    reticence: Reticence,
    /// Dials that were refused, and wait for their next try.
    refusals: Refusals,
    /// When the radio last said whether it transmits, monotonic.
    key_said_at: Option<Duration>,
    /// Something was answered since the port was opened.
    answers_at_all: bool,
    /// How far the held dials had drifted at the end of the last over of this session.
    last_over: Option<Drift>,
    /// Since the port was opened a dial was read: it is this radio, and no other device.
    introduced: bool,
    notes: Vec<Note>,
    journal: Journal,
}

impl RadioPlayer {
    /// A radio of which nothing is known yet, on a line whose bytes take `byte_time`.
    pub fn new(setup: RadioSetup, byte_time: Duration) -> Self {
        let may_land = setup.visits_other() && setup.dialect.tunes_while_transmitting();
        let steps = setup.dialect.preparation(setup.arrangement());
        let transmits = setup.uses != Use::Receive;
        let shares_a_dial =
            transmits && steps.iter().any(|step| ["split_on", "duplex_on"].contains(&&**step));
        Self {
            full_use: setup.uses,
            may_land_on_transmitter: may_land,
            shares_a_dial,
            setup,
            stage: RadioStage::Idle,
            plan: None,
            queue: VecDeque::new(),
            wished: None,
            current: None,
            known: Known::default(),
            stuck: Stuck::default(),
            memory: None,
            giving_back: RadioMemory::default(),
            tempo: Tempo::new(byte_time),
            open: false,
            greet: false,
            not_before: Duration::ZERO,
            polled_at: None,
            next_poll: 0,
            asked_at: HashMap::new(),
            attempts: 0,
            silences: 0,
            out_of_touch: false,
            corrections: 0,
            told: Vec::new(),
            told_at: None,
            may_be_refused: false,
            roles: Roles::default(),
            vfos: Vfos::default(),
            visited_at: None,
            exchanges: 0,
            usage: Usage::default(),
            hearing: Hearing::default(),
            listens: false,
            hands_off: false,
            by_operator: false,
            reticence: Reticence::default(),
            refusals: Refusals::default(),
            key_said_at: None,
            answers_at_all: false,
            last_over: None,
            introduced: false,
            notes: Vec::new(),
            journal: Journal::new(),
        }
    }

    /// What the plan wants now.
    fn wanted(&self, now: Moment) -> Option<Channel> {
        self.plan.as_ref()?.at(now.utc)
    }

    fn in_pass(&self, now: Moment) -> bool {
        self.plan.as_ref().is_some_and(|plan| plan.validity().from <= now.utc)
    }
}

remembers!(
    RadioPlayer,
    kept: [
        stage, queue, wished, current, known, stuck, memory, giving_back, tempo, open, greet, not_before, polled_at,
        next_poll, asked_at, attempts, silences, out_of_touch, corrections, told, told_at, may_be_refused,
        roles, vfos, visited_at, exchanges, usage, hearing, listens, hands_off, by_operator, reticence, refusals, key_said_at,
        answers_at_all, last_over, introduced, notes, journal,
    ],
    left_out: [setup, plan, full_use, may_land_on_transmitter, shares_a_dial]
);

impl Player for RadioPlayer {
    fn order(&mut self, order: Order, now: Moment) {
        let Order::Radio(order) = order else { return };
        match order {
            RadioOrder::Listen(plan) => {
                self.only_listen(true);
                self.hearing.begin();
                self.engage(plan, now);
            }
            RadioOrder::Engage(plan) => {
                self.only_listen(false);
                self.notes.clear();
                if self.setup.segments.is_empty() && self.setup.uses != Use::Receive {
                    self.note(THE_TRANSMITTER.to_owned(), lists::without_segments(&self.setup));
                }
                self.engage(plan, now);
            }
            RadioOrder::Proceed if self.stage == RadioStage::AwaitingSave => {
                self.notes.retain(|note| note.what == THE_TRANSMITTER);
                self.enter(RadioStage::Preparing, now)
            }
            RadioOrder::Proceed => {}
            RadioOrder::Follow(plan) => {
                let older = self.plan.as_ref().map(|older| older.generation());
                if older != Some(plan.generation()) {
                    self.by_operator = true;
                    self.try_again();
                }
                self.plan = Some(plan);
                // What the operator asked for goes out at once, however small the change.
                let free = Direction::BOTH.into_iter().filter(|direction| !self.is_held(*direction));
                free.collect::<Vec<_>>().into_iter().for_each(|direction| self.known.forget_dial(direction));
            }
            RadioOrder::GiveBack(memory) => {
                self.only_listen(memory.receive_only);
                self.giving_back = memory;
                self.enter(RadioStage::GivingBack, now);
            }
            RadioOrder::Release => {
                self.plan = None;
                self.memory = None;
                self.enter(RadioStage::Idle, now);
            }
        }
    }

    fn connected(&mut self, now: Moment) {
        self.open = true;
        self.greet = self.setup.dialect.can("do.greeting");
        self.answers_at_all = false;
        self.silences = 0;
        self.introduced = false;
        self.reticence = Reticence::default();
        self.refusals = Refusals::default();
        self.known.lapse();
        self.stuck = Stuck::default();
        self.current = None;
        self.polled_at = None;
        self.not_before = now.mono;
        self.journal.connected();
        self.enter(self.stage, now);
        self.reconsider_vfos();
        self.doubt_everything(now);
    }

    fn disconnected(&mut self, why: &str) {
        self.open = false;
        self.known.lapse();
        self.current = None;
        self.journal.disconnected(why);
    }

    fn wish(&mut self, now: Moment) -> Wish {
        if !self.open {
            return Wish::Rest(now.mono + POLL_IDLE);
        }
        let errand = match self.next_errand(now) {
            Ok(_) if self.greet => Errand::Greet,
            Ok(errand) => errand,
            Err(wake) => return Wish::Rest(wake),
        };
        match errand.exchange(&self.setup) {
            Ok(exchange) => {
                let urgency = errand.urgency();
                self.wished = Some(errand);
                Wish::Say(urgency, exchange)
            }
            Err(why) => {
                self.journal.refused += 1;
                self.leave_to_operator(&errand, &why);
                self.strike(&errand, now);
                Wish::Rest(now.mono + if self.queue.is_empty() { RETRY } else { Duration::ZERO })
            }
        }
    }

    fn begun(&mut self, exchange: &Exchange, now: Moment) {
        self.journal.bytes += exchange.bytes() as u64;
        let Some(errand) = self.wished.take() else { return };
        if let Some(item) = errand.asks_for() {
            self.asked_at.insert(item.to_owned(), now.mono);
        }
        if errand.is_question() {
            if errand != Errand::Watch {
                self.polled_at = Some(now.mono);
                self.next_poll += 1;
            }
        } else {
            self.journal.sent(errand.describe(), now);
            self.refusals.said(errand.tunes());
        }
        self.greet &= errand != Errand::Greet;
        let answered = exchange.answers() > 0;
        let (verb, selects) = (exchange.verb.clone(), Selects::by(exchange));
        self.current = Some(Current { errand, verb, begun: now.mono, answered, selects, refused: None });
    }

    fn done(&mut self, outcome: Outcome, now: Moment) {
        let Some(Current { errand, verb, begun, answered, selects, refused }) = self.current.take() else {
            return;
        };
        let outcome = match (outcome, refused) {
            (Outcome::Done(_), Some(why)) => Outcome::Refused(why),
            (outcome, _) => outcome,
        };
        let differs = matches!((&errand, &outcome), (Errand::Verify(_), Outcome::NotUnderstood(_)));
        if !differs {
            self.journal.ended(&outcome, answered);
        }
        let after_command = std::mem::replace(&mut self.may_be_refused, !errand.is_question() && !answered);
        self.note_visit(&errand, &outcome, now);
        if outcome != Outcome::TooLate {
            self.doubt_after(selects, !matches!(outcome, Outcome::Done(_)));
        }
        match &outcome {
            Outcome::Done(values) => {
                self.tempo.measured(&verb, now.mono.saturating_sub(begun));
                self.succeeded(&errand, values, now);
            }
            Outcome::Refused(why) if after_command && self.knows_question(&errand) => {
                self.take_back(why, now)
            }
            Outcome::Refused(why) | Outcome::Forbidden(why) => self.refused(&errand, why, now),
            Outcome::NotUnderstood(_) if self.prepares_again(&errand, now) => {}
            Outcome::NotUnderstood(_) if matches!(errand, Errand::Verify(_)) => {
                self.leave_to_operator(&errand, "the radio shows otherwise; set it by hand");
                self.strike(&errand, now);
            }
            Outcome::NoAnswer | Outcome::NotUnderstood(_) => self.unanswered(&errand, now),
            Outcome::TooLate => {}
        }
    }

    fn overheard(&mut self, address: Option<u8>, values: &Values, now: Moment) {
        let own = self.setup.address.or(self.setup.dialect.address());
        if address.is_none() || address == own {
            self.take(values, now);
        }
    }

    fn noticed(&mut self, fact: &Fact) {
        self.journal.noticed(fact);
    }

    /// Which command it was can't be told: what the dials are at is read again.
    fn refused_late(&mut self, why: &str, now: Moment) {
        self.journal.ended(&Outcome::Refused(why.to_owned()), true);
        if self.stage == RadioStage::Following {
            self.take_back(why, now);
        } else {
            let what = "a command".to_owned();
            if self.stage == RadioStage::Preparing && !self.setup.only_receives() {
                self.roles.unsettle(what.clone());
            }
            self.note(what, &format!("not accepted ({why}); check the radio by hand"));
        }
    }

    /// A radio has no motors; it goes on following its plan, which moves nothing.
    fn halt(&mut self, _now: Moment) -> Option<Exchange> {
        None
    }

    fn resume(&mut self) {}

    fn status(&self, now: Moment) -> DeviceStatus {
        self.journal.status(&self.setup.name, Detail::Radio(self.view(now)))
    }

    fn memo(&self) -> Result<Memo, serde_json::Error> {
        let mut memo = self.memo_of_fields()?;
        memo.insert(HAS_PLAN.to_owned(), self.plan.is_some().into());
        Ok(memo)
    }

    fn remember(&mut self, memo: &Memo, plan: Option<Order>) -> Result<(), String> {
        self.plan = match (memo.get(HAS_PLAN), plan) {
            (Some(serde_json::Value::Bool(false)), _) => None,
            (
                _,
                Some(Order::Radio(
                    RadioOrder::Engage(plan) | RadioOrder::Listen(plan) | RadioOrder::Follow(plan),
                )),
            ) => Some(plan),
            _ => return Err("the plan that it followed is not known".to_owned()),
        };
        self.remember_fields(memo)?;
        self.only_listen(self.listens);
        Ok(())
    }
}
