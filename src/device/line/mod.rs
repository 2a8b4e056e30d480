//! One serial line and the devices on it: who may speak next. A state machine without I/O; the
//! thread in `service.rs` and the modelled wire of the tests are its shells.

mod control_lines;
mod opening;
pub mod ports;
mod service;
mod thread;

use std::collections::VecDeque;
use std::time::Duration;

use crate::terms::{Memo, Moment, remembers};

use super::conversation::{Conversation, Input, Outcome, Output};
use super::dialect::Exchange;
use super::player::{Player, Urgency, Wish};
use super::{DeviceStatus, Fact, Order};

pub use control_lines::{ControlLines, Raise};
pub use opening::{LineSetup, Opener, Port, SerialOpener};
pub use thread::LineThread;

/// A command whose first byte has not left this long after it was decided is not sent at all.
pub const VALID_FOR: Duration = Duration::from_millis(250);

/// While most of what the line can carry is nonsense, something is said only this often: it keeps
/// asking whether that is over.
const PACE_IN_FLOOD: Duration = Duration::from_secs(1);

/// A line asks itself at least this often whether there is something to do, so that a stepped
/// clock is noticed.
const LONGEST_REST: Duration = Duration::from_millis(500);

/// What happens to a line.
pub enum LineInput<'a> {
    /// The port is open.
    Opened,
    /// The port is lost, or could not be opened; why.
    Lost(&'a str),
    /// These bytes came in.
    Bytes(&'a [u8]),
    /// The last write did not leave whole, or too late.
    NotSent,
    /// An order to the device of this number on the line.
    Order(usize, Order),
    /// Stop every motor now; move nothing until `Resume`.
    Halt,
    /// Motors may move again.
    Resume,
    /// Nothing but time.
    Time,
}

/// Is told all that happens to a line, in order: a line can be played again from that.
pub trait Witness: Send {
    /// This is about to happen.
    fn happens(&mut self, now: Moment, input: &LineInput);
    /// This is what the line wanted to be written then.
    fn said(&mut self, writes: &[Write]);
    /// Whether the line's memo is wanted, as soon as it is at rest.
    fn wants_memo(&self) -> bool;
    /// What the line remembers after what happened last; or why that can't be written down.
    fn remembers(&mut self, now: Moment, memo: Result<Memo, String>);
}

/// What wants to be written: whole frames only.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Write {
    /// The bytes.
    pub bytes: Vec<u8>,
    /// Monotonic time after which it must not leave any more; stops never grow too old.
    pub not_after: Option<Duration>,
}

/// A line with its players.
pub struct Line {
    players: Vec<Box<dyn Player>>,
    conversation: Conversation,
    speaking: Option<usize>,
    spoke_last: Option<usize>,
    spoke_at: Duration,
    /// How many orders each device was given.
    orders: Vec<u64>,
    /// Monotonic time after which the exchange that was begun must not start any more.
    not_after: Option<Duration>,
    stops: VecDeque<(usize, Exchange)>,
    open: bool,
    silent: bool,
    /// A player still wants to stop its motors.
    stop_is_wanted: bool,
    wake_at: Duration,
}

remembers!(
    Line,
    kept: [spoke_last, spoke_at, orders, not_after, open, silent, stop_is_wanted, wake_at],
    left_out: [players, conversation, speaking, stops]
);

/// In a line's memo: those of its players and of its conversation.
const PLAYERS: &str = "players";
const CONVERSATION: &str = "conversation";

impl Line {
    /// What the line and its players remember; `None` while something is being said.
    pub fn memo(&self) -> Option<Result<Memo, String>> {
        let rests = self.conversation.is_idle() && self.speaking.is_none() && self.stops.is_empty();
        rests.then(|| self.memo_at_rest().map_err(|error| error.to_string()))
    }

    fn memo_at_rest(&self) -> Result<Memo, serde_json::Error> {
        let mut memo = self.memo_of_fields()?;
        let players: Result<Vec<Memo>, _> = self.players.iter().map(|player| player.memo()).collect();
        memo.insert(PLAYERS.to_owned(), serde_json::to_value(players?)?);
        memo.insert(CONVERSATION.to_owned(), self.conversation.memo()?.into());
        Ok(memo)
    }

    /// Begins as the line of a memo was. `plans` holds the order with which each device's player got
    /// its last plan, as far as it got one.
    ///
    /// # Errors
    /// What can't be read, in words.
    pub fn remember(&mut self, memo: &Memo, plans: Vec<Option<Order>>) -> Result<(), String> {
        let of = |name: &str| memo.get(name).ok_or_else(|| format!("`{name}` is missing"));
        let players = of(PLAYERS)?.as_array().filter(|all| all.len() == self.players.len());
        let players = players.ok_or("it is another number of devices")?;
        let plans = plans.into_iter().chain(std::iter::repeat(None));
        for ((player, memo), plan) in self.players.iter_mut().zip(players).zip(plans) {
            player.remember(memo.as_object().ok_or("a device's part can't be read")?, plan)?;
        }
        let talk = of(CONVERSATION)?.as_object().ok_or("the conversation's part can't be read")?;
        self.conversation.remember(talk)?;
        self.speaking = None;
        self.stops.clear();
        self.remember_fields(memo)?;
        let is_one_of_them = self.spoke_last.is_none_or(|last| last < self.players.len());
        if self.orders.len() != self.players.len() || !is_one_of_them {
            return Err("it is another number of devices".to_owned());
        }
        Ok(())
    }

    /// A line whose port is not open yet.
    pub fn new(players: Vec<Box<dyn Player>>, conversation: Conversation) -> Self {
        Self {
            orders: vec![0; players.len()],
            not_after: None,
            players,
            conversation,
            speaking: None,
            spoke_last: None,
            spoke_at: Duration::ZERO,
            stops: VecDeque::new(),
            open: false,
            silent: false,
            stop_is_wanted: false,
            wake_at: Duration::ZERO,
        }
    }

    /// Takes an input; returns what wants to be written, in order.
    pub fn step(&mut self, now: Moment, input: LineInput) -> Vec<Write> {
        let mut writes = Vec::new();
        match input {
            LineInput::Opened => self.opened(now, &mut writes),
            LineInput::Lost(why) => self.lost(why),
            LineInput::Bytes(bytes) => self.converse(now, Input::Bytes(bytes), &mut writes),
            LineInput::NotSent => {
                self.notice(&Fact::NotTaken);
                self.converse(now, Input::Trouble, &mut writes);
            }
            LineInput::Order(index, order) => {
                if let Some(player) = self.players.get_mut(index) {
                    player.order(order, now);
                    self.orders[index] += 1;
                }
            }
            LineInput::Halt => self.halt(now),
            LineInput::Resume => self.players.iter_mut().for_each(|player| player.resume()),
            LineInput::Time => self.converse(now, Input::Time, &mut writes),
        }
        if self.open {
            self.stop_motors(now, &mut writes);
            self.speak(now, &mut writes);
        } else {
            self.wake_at = now.mono + LONGEST_REST;
        }
        writes
    }

    /// The monotonic time at which the line wants to step again without any input.
    pub fn wake_at(&self) -> Duration {
        self.wake_at
    }

    /// Whether most of what the line can carry is nonsense.
    pub fn is_flooded(&self) -> bool {
        self.conversation.is_flooded()
    }

    /// From now on only stops are begun: the line is about to be closed.
    pub fn fall_silent(&mut self) {
        self.silent = true;
    }

    /// Whether nothing is left to be said before the line may be closed.
    pub fn is_done(&self) -> bool {
        self.conversation.is_idle() && self.stops.is_empty() && !self.stop_is_wanted
    }

    /// What the players know, in the order of the devices on the line.
    pub fn status(&self, now: Moment) -> Vec<DeviceStatus> {
        let players = self.players.iter().zip(&self.orders);
        players.map(|(player, orders)| DeviceStatus { orders: *orders, ..player.status(now) }).collect()
    }

    fn opened(&mut self, now: Moment, writes: &mut Vec<Write>) {
        self.open = true;
        self.speaking = None;
        self.players.iter_mut().for_each(|player| player.connected(now));
        self.converse(now, Input::Trouble, writes);
    }

    fn lost(&mut self, why: &str) {
        self.open = false;
        self.speaking = None;
        self.players.iter_mut().for_each(|player| player.disconnected(why));
    }

    fn halt(&mut self, now: Moment) {
        for (index, player) in self.players.iter_mut().enumerate() {
            if let Some(stop) = player.halt(now) {
                self.stops.push_back((index, stop));
            }
        }
    }

    /// Writes a stop that is due, without waiting for the answer to what was said before.
    fn stop_motors(&mut self, now: Moment, writes: &mut Vec<Write>) {
        let Some((index, stop)) = self.stops.pop_front() else { return };
        if let Some(interrupted) = self.speaking.replace(index) {
            self.players[interrupted].done(Outcome::TooLate, now);
        }
        self.players[index].begun(&stop, now);
        self.not_after = None;
        let outputs = self.conversation.interrupt(stop, now.mono);
        self.take(now, outputs, writes);
    }

    fn converse(&mut self, now: Moment, input: Input, writes: &mut Vec<Write>) {
        let outputs = self.conversation.step(now.mono, input);
        self.take(now, outputs, writes);
    }

    fn take(&mut self, now: Moment, outputs: Vec<Output>, writes: &mut Vec<Write>) {
        for output in outputs {
            match output {
                // Once an exchange has begun it is played to its end, late or not.
                Output::Write(bytes) => writes.push(Write { bytes, not_after: self.not_after.take() }),
                Output::Done(outcome) => {
                    if let Some(index) = self.speaking.take() {
                        self.players[index].done(outcome, now);
                    }
                }
                Output::Unasked { address, values } => {
                    self.players.iter_mut().for_each(|player| player.overheard(address, &values, now));
                }
                Output::Noticed(fact) => self.notice(&fact),
                Output::Refused(why) => {
                    if let Some(index) = self.spoke_last {
                        self.players[index].refused_late(&why, now);
                    }
                }
            }
        }
    }

    /// A flood is everybody's; all else belongs to who speaks or spoke last.
    fn notice(&mut self, fact: &Fact) {
        if matches!(fact, Fact::Babble { .. } | Fact::Quiet) {
            self.players.iter_mut().for_each(|player| player.noticed(fact));
        } else if let Some(index) = self.speaking.or(self.spoke_last) {
            self.players[index].noticed(fact);
        }
    }

    /// Lets the most urgent player speak, if the line is free.
    fn speak(&mut self, now: Moment, writes: &mut Vec<Write>) {
        self.wake_at = now.mono + LONGEST_REST;
        if let Some(at) = self.conversation.wake_at() {
            self.wake_at = self.wake_at.min(at);
        }
        if !self.conversation.is_idle() {
            return;
        }
        let ready_at = self.conversation.ready_at();
        if now.mono < ready_at {
            self.wake_at = self.wake_at.min(ready_at);
            return;
        }
        if let Some((index, exchange)) = self.most_urgent(now) {
            self.players[index].begun(&exchange, now);
            self.stop_is_wanted = false;
            (self.speaking, self.spoke_last, self.spoke_at) = (Some(index), Some(index), now.mono);
            self.not_after = Some(now.mono + VALID_FOR);
            // It is idle and ready, so it begins; if not, the player hears that nothing was said.
            if self.conversation.begin_by(exchange, now.mono, now.mono + VALID_FOR).is_err() {
                self.speaking = None;
                self.players[index].done(Outcome::TooLate, now);
            }
            self.converse(now, Input::Time, writes);
            self.wake_at = self.conversation.wake_at().unwrap_or(now.mono).min(now.mono + LONGEST_REST);
        }
    }

    /// The most urgent wish; of equals, the one of the device that waited longest. The earliest
    /// rest goes into `wake_at`.
    fn most_urgent(&mut self, now: Moment) -> Option<(usize, Exchange)> {
        let mut best = None;
        self.stop_is_wanted = false;
        let paced_until = self.spoke_at + PACE_IN_FLOOD;
        let is_paced = self.is_flooded() && now.mono < paced_until;
        if is_paced {
            self.wake_at = self.wake_at.min(paced_until);
        }
        let count = self.players.len();
        let first = self.spoke_last.map_or(0, |last| last + 1);
        for index in (first..first + count).map(|index| index % count) {
            match self.players[index].wish(now) {
                Wish::Rest(until) => self.wake_at = self.wake_at.min(until.max(now.mono)),
                Wish::Say(urgency, _) if (self.silent || is_paced) && urgency != Urgency::Stop => {}
                Wish::Say(urgency, exchange) => {
                    self.stop_is_wanted |= urgency == Urgency::Stop;
                    if best.as_ref().is_none_or(|(most, _, _)| urgency > *most) {
                        best = Some((urgency, index, exchange));
                    }
                }
            }
        }
        best.map(|(_, index, exchange)| (index, exchange))
    }
}

#[cfg(test)]
mod tests;
