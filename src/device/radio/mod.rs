//! The player of a radio: reads what it has, prepares it, keeps its dials on the plan, gives
//! back what it had.

mod bands;
mod care;
mod errand;
mod follow;
mod hold;
mod known;
mod law;
mod lists;
mod polls;
mod results;
mod scale;
mod setup;
mod split;
mod stuck;
mod tempo;
mod usage;

use std::collections::{HashMap, VecDeque};
use std::time::Duration;

use crate::terms::{Channel, Dial, Direction, Moment};

use super::conversation::Outcome;
use super::dialect::Exchange;
use super::journal::Journal;
use super::order::{ChannelPlan, Order, RadioMemory, RadioOrder};
use super::player::{Player, Wish};
use super::status::{Detail, DeviceStatus, DialView, Drift, Note, RadioStage, RadioView};
use super::symptoms::Fact;
use super::values::Values;

use errand::Errand;
use known::Known;
pub use law::{DialLaw, Verdict, Want};
pub use scale::{ByMode, Calibration, Correction};
pub use setup::{RadioSetup, Use};
use split::Vfos;
use stuck::Stuck;
use tempo::Tempo;
use usage::Usage;

/// After an exchange that failed the next waits this long, monotonic.
const RETRY: Duration = Duration::from_millis(500);
/// After a preparation that failed the next begins so much later, monotonic.
const PREPARE_AGAIN: Duration = Duration::from_secs(2);
/// How often a radio that is left alone is asked where its dials are and whether it transmits,
/// monotonic.
const POLL_IDLE: Duration = Duration::from_secs(5);
/// How often a command is tried that is not answered, before it is left to the operator.
const ATTEMPTS: u32 = 3;

/// What is being said.
struct Current {
    errand: Errand,
    verb: String,
    begun: Duration,
    /// Whether the radio owes an answer.
    answered: bool,
}

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
    attempts: u32,
    /// How many answers in a row were missing.
    silences: u32,
    /// An answer was missing: what is known of the radio is not to be trusted until it answers.
    out_of_touch: bool,
    /// How often a mode or tone was set again that the radio had not kept, since the preparation.
    corrections: u32,
    /// The modes and the tone that were set last.
    told: Vec<Errand>,
    /// Something failed in the preparation that decides where the radio transmits: until that is
    /// made good, no dial is tuned to where the operator may not transmit.
    unprepared: bool,
    /// Whether the right VFO receives, on a half-duplex radio that can only toggle.
    vfos: Vfos,
    /// When the other VFO was set last, monotonic.
    visited_at: Option<Duration>,
    /// The bands were exchanged since the stage was entered.
    exchanged: bool,
    /// What the operator was seen to do while the radio was left alone.
    usage: Usage,
    /// The VFOs changed places for good: the transmitter is left alone.
    hands_off: bool,
    /// The plan is a newer one that the operator asked for, and its modes and tone are not set yet.
    by_operator: bool,
    /// Questions that the radio does not answer, or refuses, and how often it did so.
    unhelpful: HashMap<String, u32>,
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
        Self {
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
            attempts: 0,
            silences: 0,
            out_of_touch: false,
            corrections: 0,
            told: Vec::new(),
            unprepared: false,
            vfos: Vfos::default(),
            visited_at: None,
            exchanged: false,
            usage: Usage::default(),
            hands_off: false,
            by_operator: false,
            unhelpful: HashMap::new(),
            answers_at_all: false,
            last_over: None,
            introduced: false,
            notes: Vec::new(),
            journal: Journal::new(),
        }
    }

    fn enter(&mut self, stage: RadioStage, now: Moment) {
        if stage == RadioStage::Preparing {
            self.corrections = 0;
            self.told.clear();
            self.unprepared = false;
            self.hands_off = false;
        }
        self.stage = stage;
        self.attempts = 0;
        self.exchanged = false;
        self.queue = match stage {
            RadioStage::Reading => lists::questions(&self.setup),
            RadioStage::Preparing => lists::preparations(&self.setup, self.wanted(now)),
            RadioStage::GivingBack => self.gifts(),
            RadioStage::Following => lists::reacquaintance(&self.setup),
            RadioStage::Idle | RadioStage::AwaitingSave => VecDeque::new(),
        };
    }

    /// What the plan wants now.
    fn wanted(&self, now: Moment) -> Option<Channel> {
        self.plan.as_ref()?.at(now.utc)
    }

    /// The queue has run empty: what comes next.
    fn advance(&mut self, now: Moment) {
        match self.stage {
            RadioStage::Reading => {
                self.memory = Some(self.known.memory());
                self.enter(RadioStage::AwaitingSave, now);
            }
            // Before AOS there is time to try again.
            RadioStage::Preparing if self.unprepared && !self.in_pass(now) => {
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
    fn next_errand(&mut self, now: Moment) -> Result<Errand, Duration> {
        if now.mono < self.not_before {
            return Err(self.not_before);
        }
        if let Some(introduction) = self.introduction() {
            return Ok(introduction);
        }
        if self.queue.is_empty() && self.vfos == Vfos::Right {
            self.advance(now);
        }
        let following = self.stage == RadioStage::Following;
        if let Some(errand) = self.settle_vfos() {
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

    /// What has to be answered before the radio is told anything: after a cable was pulled another
    /// device may be on the port.
    fn introduction(&self) -> Option<Errand> {
        let tells =
            matches!(self.stage, RadioStage::Preparing | RadioStage::Following | RadioStage::GivingBack);
        if self.introduced || !tells {
            return None;
        }
        let items = lists::introductions(&self.setup);
        items.get(self.next_poll % items.len().max(1)).cloned().map(Errand::Ask)
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

    fn in_pass(&self, now: Moment) -> bool {
        self.plan.as_ref().is_some_and(|plan| plan.validity().from <= now.utc)
    }

    fn view(&self, direction: Direction, now: Moment) -> Option<DialView> {
        if !self.setup.directions().any(|served| served == direction) {
            return None;
        }
        let dial = self.known.dial(direction);
        let on_dial = |dial: Dial| Dial { hertz: self.setup.on_dial(direction, dial.hertz), ..dial };
        let plan = self.wanted(now).and_then(|channel| channel.dial(direction)).map(on_dial);
        let tone = self.known.tone.flatten().filter(|_| direction == Direction::Transmit);
        let behind = self.behind(direction, now).filter(|_| self.is_held(direction));
        Some(DialView { plan, hertz: dial.hertz, mode: dial.mode, tone, behind })
    }
}

impl Player for RadioPlayer {
    fn order(&mut self, order: Order, now: Moment) {
        let Order::Radio(order) = order else { return };
        match order {
            RadioOrder::Engage(plan) => {
                self.plan = Some(plan);
                self.memory = None;
                self.last_over = None;
                self.notes.clear();
                if self.setup.segments.is_empty() && self.setup.uses != Use::Receive {
                    self.note(THE_TRANSMITTER.to_owned(), "left alone: no transmit segments are configured");
                }
                self.enter(RadioStage::Reading, now);
            }
            RadioOrder::Proceed if self.stage == RadioStage::AwaitingSave => {
                self.notes.retain(|note| note.what == THE_TRANSMITTER);
                self.enter(RadioStage::Preparing, now)
            }
            RadioOrder::Proceed => {}
            RadioOrder::Follow(plan) => {
                let older = self.plan.as_ref().map(|older| older.generation());
                self.by_operator |= older != Some(plan.generation());
                self.plan = Some(plan);
                // What the operator asked for goes out at once, however small the change.
                let free = Direction::BOTH.into_iter().filter(|direction| !self.is_held(*direction));
                free.collect::<Vec<_>>().into_iter().for_each(|direction| self.known.forget_dial(direction));
            }
            RadioOrder::GiveBack(memory) => {
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
        self.unhelpful.clear();
        self.known.lapse();
        self.stuck = Stuck::default();
        self.current = None;
        self.polled_at = None;
        self.not_before = now.mono;
        self.journal.connected();
        self.enter(self.stage, now);
        self.reconsider_vfos();
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
                self.strike(&errand);
                Wish::Rest(now.mono + if self.queue.is_empty() { RETRY } else { Duration::ZERO })
            }
        }
    }

    fn begun(&mut self, exchange: &Exchange, now: Moment) {
        self.journal.bytes += exchange.bytes() as u64;
        let Some(errand) = self.wished.take() else { return };
        if errand.is_question() {
            if errand != Errand::Watch {
                self.polled_at = Some(now.mono);
                self.next_poll += 1;
            }
        } else {
            self.journal.sent(errand.describe(), now);
        }
        self.greet &= errand != Errand::Greet;
        let answered = exchange.answers() > 0;
        self.current = Some(Current { errand, verb: exchange.verb.clone(), begun: now.mono, answered });
    }

    fn done(&mut self, outcome: Outcome, now: Moment) {
        let Some(Current { errand, verb, begun, answered }) = self.current.take() else { return };
        let differs = matches!((&errand, &outcome), (Errand::Verify(_), Outcome::NotUnderstood(_)));
        if !differs {
            self.journal.ended(&outcome, answered);
        }
        self.note_visit(&errand, &outcome, now);
        match &outcome {
            Outcome::Done(values) => {
                self.tempo.measured(&verb, now.mono.saturating_sub(begun));
                self.succeeded(&errand, values, now);
            }
            Outcome::Refused(why) | Outcome::Forbidden(why) => self.refused(&errand, why, now),
            Outcome::NotUnderstood(_) if matches!(errand, Errand::Verify(_)) => {
                self.leave_to_operator(&errand, "the radio shows otherwise; set it by hand");
                self.strike(&errand);
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
            self.known.lapse();
            self.enter(RadioStage::Following, now);
            self.not_before = now.mono + RETRY;
        } else {
            self.unprepared |= self.stage == RadioStage::Preparing && self.setup.uses != Use::Receive;
            self.note("a command".to_owned(), &format!("not accepted ({why}); check the radio by hand"));
        }
    }

    /// A radio has no motors; it goes on following its plan, which moves nothing.
    fn halt(&mut self, _now: Moment) -> Option<Exchange> {
        None
    }

    fn resume(&mut self) {}

    fn status(&self, now: Moment) -> DeviceStatus {
        let detail = Detail::Radio(RadioView {
            stage: self.stage,
            receive: self.view(Direction::Receive, now),
            transmit: self.view(Direction::Transmit, now),
            transmitting: self.known.transmitting(now.mono),
            last_over: self.last_over,
            in_use: self
                .usage
                .words(self.known.on_air(), now.mono)
                .filter(|_| self.stage == RadioStage::Idle),
            memory: self.memory.clone(),
            notes: self.notes.clone(),
        });
        self.journal.status(&self.setup.name, detail)
    }
}
