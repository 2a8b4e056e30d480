//! Dials that wait for the end of an over: what depends on the transmit key, how it is found out
//! in time whether that is pressed, and how far held dials have fallen behind.

use std::time::Duration;

use crate::device::status::Drift;
use crate::terms::{Direction, Hertz, Moment};

use super::RadioPlayer;
use super::care::ASK_AGAIN;
use super::errand::Errand;
use super::known::TRANSMIT_STATE_FRESH;

/// So long before a tuning command the radio is asked whether it transmits, monotonic: early
/// enough for the answer to be there, and late enough for it to count when the command leaves.
const AHEAD: Duration = Duration::from_millis(200);
/// How often it is asked while it transmits and every dial waits, monotonic.
const ALL_HELD: Duration = Duration::from_millis(150);
/// How often it is asked while it transmits and another dial goes on being tuned, monotonic.
const SOME_HELD: Duration = Duration::from_millis(350);
/// How often it is asked while it receives, so that an over is noticed, monotonic.
const RECEIVING: Duration = Duration::from_secs(1);

impl RadioPlayer {
    /// Whether the state of the transmit key has to be known to tune this dial. A radio that
    /// can't be asked is tuned without; but where a VFO has to be selected for it, or the dial is
    /// held by the configuration, one that used to answer is waited for.
    pub(super) fn heeds_key(&self, direction: Direction) -> bool {
        let held = self.setup.hold_uplink && direction == Direction::Transmit;
        let used_to_say = self.key_said_at.is_some() && (held || self.setup.visits_other());
        self.setup.heeds_key(direction) && (self.can_ask_whether_it_transmits() || used_to_say)
    }

    /// Whether this dial stays where it is while the radio transmits.
    pub(super) fn waits_for_the_over(&self, direction: Direction) -> bool {
        let live = direction == Direction::Transmit
            && self.setup.visits_other()
            && self.setup.dialect.tunes_while_transmitting()
            && !self.setup.hold_uplink;
        self.heeds_key(direction) && !live
    }

    /// Whether this dial stays where it is at present.
    pub(super) fn is_held(&self, direction: Direction) -> bool {
        self.known.on_air() && self.waits_for_the_over(direction)
    }

    /// Whether there is nothing to do but to wait for the end of the over.
    pub(super) fn all_is_held(&self) -> bool {
        let mut served = self.setup.directions().peekable();
        served.peek().is_some() && served.all(|direction| self.is_held(direction))
    }

    /// The question whether the radio transmits, if it is time for it, or the time until which it
    /// is not. `needed_at` is when a dial that depends on it is next worth a command.
    pub(super) fn watch(&self, needed_at: Duration, now: Moment) -> Result<Errand, Duration> {
        if !self.setup.directions().any(|direction| self.heeds_key(direction)) {
            return Err(Duration::MAX);
        }
        if !self.can_ask_whether_it_transmits() {
            let again = self.key_asked_at().map_or(Duration::ZERO, |at| at + ASK_AGAIN);
            return if now.mono >= again { Ok(Errand::Watch) } else { Err(again) };
        }
        let Some(read_at) = self.known.transmit_state_read_at() else { return Ok(Errand::Watch) };
        let interval = match (self.known.on_air(), self.all_is_held()) {
            (true, true) => ALL_HELD,
            (true, false) => SOME_HELD,
            (false, _) => RECEIVING,
        };
        let counts_until = read_at + TRANSMIT_STATE_FRESH;
        let ahead = if needed_at > counts_until { needed_at.saturating_sub(AHEAD) } else { Duration::MAX };
        let due = ahead.min(read_at + interval);
        if now.mono >= due { Ok(Errand::Watch) } else { Err(due) }
    }

    /// Whether it may be assumed that this dial takes a command now.
    pub(super) fn key_is_known_for(&self, direction: Direction, now: Moment) -> bool {
        !self.heeds_key(direction) || self.known.transmitting(now.mono) == Some(self.known.on_air())
    }

    /// How far the plan has moved away from a dial, on the radio's scale.
    pub(super) fn behind(&self, direction: Direction, now: Moment) -> Option<Hertz> {
        let wanted = self.wanted(now)?.dial(direction)?;
        Some(self.setup.on_dial(direction, wanted.hertz) - self.known.dial(direction).hertz?)
    }

    /// The over is over: what waited is set afresh, whatever the difference.
    pub(super) fn over_ended(&mut self, now: Moment) {
        let waited: Vec<Direction> =
            self.setup.directions().filter(|direction| self.waits_for_the_over(*direction)).collect();
        let drift = |direction| if waited.contains(&direction) { self.behind(direction, now) } else { None };
        let drift = Drift { receive: drift(Direction::Receive), transmit: drift(Direction::Transmit) };
        if drift != Drift::default() {
            self.last_over = Some(drift);
        }
        waited.into_iter().for_each(|direction| self.known.forget_dial(direction));
        if self.setup.visits_other() {
            self.known.forget_dial(Direction::Transmit);
        }
    }
}
