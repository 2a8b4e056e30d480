//! What every player has in common: it is asked what to say next, and told what came of it.

use std::time::Duration;

use crate::terms::{Memo, Moment};

use super::conversation::Outcome;
use super::dialect::Exchange;
use super::{DeviceStatus, Fact, Order, Values};

/// How urgent a request is; on a shared bus the most urgent goes first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Urgency {
    /// A question to pass the time.
    Poll,
    /// Part of preparing or giving back.
    Setup,
    /// The plan has moved on.
    Tune,
    /// A motor must stop.
    Stop,
}

/// What a player wants.
pub enum Wish {
    /// Say this as soon as the line is free.
    Say(Urgency, Exchange),
    /// Nothing before this monotonic time.
    Rest(Duration),
}

/// Brings one device to its plan. A state machine without I/O: the line asks it for its wish
/// whenever the line is free, and reports what came of it. At most one exchange of a player is
/// outstanding.
pub trait Player: Send {
    /// Takes an order; the next wish obeys it.
    fn order(&mut self, order: Order, now: Moment);

    /// The port was opened: whatever was known of the device is void.
    fn connected(&mut self, now: Moment);

    /// The port was lost or can't be opened; why.
    fn disconnected(&mut self, why: &str);

    /// What should be said now. Asking again without `begun` in between changes nothing.
    fn wish(&mut self, now: Moment) -> Wish;

    /// The exchange of the last wish was written at this moment.
    fn begun(&mut self, exchange: &Exchange, now: Moment);

    /// What came of the exchange that was begun last.
    fn done(&mut self, outcome: Outcome, now: Moment);

    /// A device on the line said something unasked; on a bus, the one at this address.
    fn overheard(&mut self, address: Option<u8>, values: &Values, now: Moment);

    /// Something was seen in this device's talks, or on its line.
    fn noticed(&mut self, fact: &Fact);

    /// A refusal came late, for a command that is silent when it is accepted.
    fn refused_late(&mut self, why: &str, now: Moment);

    /// Halt: nothing may move until `resume`. Returns what stops the motors, where there are any.
    fn halt(&mut self, now: Moment) -> Option<Exchange>;

    /// Motion is allowed again; the last order is not taken up by itself.
    fn resume(&mut self);

    /// What the player knows.
    fn status(&self, now: Moment) -> DeviceStatus;

    /// What the player remembers between two exchanges. Its plan is not in it.
    ///
    /// # Errors
    /// What can't be written down.
    fn memo(&self) -> Result<Memo, serde_json::Error>;

    /// Begins as the player of a memo was. `plan` is the order with which that one got the last plan.
    ///
    /// # Errors
    /// What can't be read, in words.
    fn remember(&mut self, memo: &Memo, plan: Option<Order>) -> Result<(), String>;
}
