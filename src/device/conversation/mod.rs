//! One line's conversation: a state machine that plays one exchange after the other.
//!
//! It does no I/O: the caller hands it what came in and what time it is, and does what it says.
//! Times are monotonic and count from any fixed instant. Every frame passes the guard; where that
//! asks for proof, the proof question (or the recovery silence) goes first. A frame is written
//! whole or not at all, and only when the one before has left and what it asked for has come.

mod echo;
mod hearing;
mod noise;
mod settings;
mod speaking;
#[cfg(test)]
mod tests;

use std::collections::VecDeque;
use std::time::Duration;

pub use settings::{BeginError, ConversationSettings, Input, Outcome, Output};

use super::dialect::{Exchange, Step};
use super::family::{Family, Framer, Guard, Verdict};
use super::values::Values;
use crate::terms::{Memo, remembers};
use echo::Echo;
use noise::Noise;

/// The conversation on one line.
#[derive(Debug)]
pub struct Conversation {
    family: Family,
    settings: ConversationSettings,
    guard: Guard,
    framer: Framer,
    echo: Echo,
    noise: Noise,
    /// When the last byte came in.
    heard_at: Duration,
    /// Silent commands that may still be refused, and until when.
    refusable: (usize, Duration),
    /// When the last written byte has left the wire.
    wire_free: Duration,
    ready_at: Duration,
    current: Option<Current>,
}

/// The exchange that is being played.
#[derive(Debug)]
struct Current {
    exchange: Exchange,
    to_do: VecDeque<Step>,
    finally: VecDeque<Step>,
    wait: Wait,
    /// Whether one of its own frames was written.
    started: bool,
    in_finally: bool,
    latest: Option<Duration>,
    values: Values,
    failure: Option<Outcome>,
    /// The last frame that could be the answer but fits none of its forms.
    strange: Option<Vec<u8>>,
    /// The address of another device of the bus that answered.
    foreign: Option<u8>,
    /// A refusal that came while the first proof question was open, and may be its answer.
    proof_refused: Option<String>,
    /// The proof question was asked a second time.
    asked_again: bool,
}

/// What the exchange waits for.
#[derive(Debug)]
enum Wait {
    /// The moment when the next frame may be written.
    Turn,
    /// The written frame's last byte.
    Leaving,
    /// The answer to the written frame.
    Answer { deadline: Duration, step: Step },
    /// The answer to the proof question, from the device at `address` on a bus.
    Proof { deadline: Duration, question: Vec<u8>, address: Option<u8> },
}

impl Current {
    fn new(exchange: Exchange, latest: Option<Duration>) -> Self {
        let (to_do, finally) = (exchange.steps.clone().into(), exchange.finally.clone().into());
        Self {
            exchange,
            to_do,
            finally,
            wait: Wait::Turn,
            started: false,
            in_finally: false,
            latest,
            values: Values::new(),
            failure: None,
            strange: None,
            foreign: None,
            proof_refused: None,
            asked_again: false,
        }
    }

    fn is_over(&self) -> bool {
        self.to_do.is_empty() && self.finally.is_empty()
    }

    fn outcome(self) -> Outcome {
        self.failure.unwrap_or(Outcome::Done(self.values))
    }

    /// The first failure counts. It ends the exchange up to its `finally`, of which every frame
    /// has its turn; nothing is to be put right if nothing was sent.
    fn fail(&mut self, outcome: Outcome) {
        self.failure.get_or_insert(outcome);
        self.wait = Wait::Turn;
        if !self.in_finally {
            self.to_do.clear();
        }
        if !self.started {
            self.finally.clear();
        }
    }

    /// The frame whose turn it is can't be sent.
    fn fail_unsent(&mut self, outcome: Outcome) {
        self.to_do.pop_front();
        self.fail(outcome);
    }
}

remembers!(
    Conversation,
    kept: [guard, framer, echo, noise, heard_at, refusable, wire_free, ready_at],
    left_out: [family, settings, current]
);

impl Conversation {
    /// What it remembers between two exchanges.
    pub(super) fn memo(&self) -> Result<Memo, serde_json::Error> {
        self.memo_of_fields()
    }

    /// Begins as the conversation of a memo was.
    pub(super) fn remember(&mut self, memo: &Memo) -> Result<(), String> {
        self.remember_fields(memo)?;
        self.current = None;
        if self.guard.is_for(self.family) { Ok(()) } else { Err("it is another wire language".to_owned()) }
    }

    /// A line that has just been opened at time zero: nothing is known of what it carried before.
    pub fn new(family: Family, settings: ConversationSettings) -> Self {
        let noise = Noise::new(settings.byte_time);
        Self {
            family,
            settings,
            guard: Guard::unknown(family),
            framer: Framer::new(family),
            echo: Echo::new(),
            noise,
            heard_at: Duration::ZERO,
            refusable: (0, Duration::ZERO),
            wire_free: Duration::ZERO,
            ready_at: family.recovery(),
            current: None,
        }
    }

    /// Starts an exchange; its first frame comes out of the next [`step`](Self::step).
    pub fn begin(&mut self, exchange: Exchange, now: Duration) -> Result<(), BeginError> {
        self.start(exchange, now, None)
    }

    /// The same for a command that is stale after `latest`: if its first byte could not leave by
    /// then (a proof came first and took its time), it is not sent.
    pub fn begin_by(
        &mut self,
        exchange: Exchange,
        now: Duration,
        latest: Duration,
    ) -> Result<(), BeginError> {
        self.start(exchange, now, Some(latest))
    }

    fn start(
        &mut self,
        exchange: Exchange,
        now: Duration,
        latest: Option<Duration>,
    ) -> Result<(), BeginError> {
        if self.current.is_some() {
            return Err(BeginError::Busy);
        }
        if now < self.ready_at {
            return Err(BeginError::NotReady(self.ready_at));
        }
        let forbidden = exchange.forbidden(self.family);
        let mut current = Current::new(exchange, latest);
        if let Some(reason) = forbidden {
            current.fail(Outcome::Forbidden(reason));
        }
        self.current = Some(current);
        Ok(())
    }

    /// Takes what happened and says what to do. Call it with [`Input::Time`] at
    /// [`wake_at`](Self::wake_at) and after a `begin`.
    pub fn step(&mut self, now: Duration, input: Input<'_>) -> Vec<Output> {
        let mut outputs = Vec::new();
        match input {
            Input::Bytes(bytes) => {
                for byte in bytes {
                    self.hear(*byte, now, &mut outputs);
                    // What comes behind the last answer in the same read is newer than it.
                    self.end_if_over(&mut outputs);
                }
            }
            Input::Trouble => self.trouble(now, &mut outputs),
            Input::Time => {}
        }
        outputs.extend(self.noise.look(now).map(Output::Noticed));
        self.advance(now, &mut outputs);
        outputs
    }

    /// Forgets what is outstanding, its answer and its `finally`, and writes `stop` at once,
    /// behind the frame that may still be leaving. For motors: neither a recovery silence nor an
    /// answer is waited for.
    pub fn interrupt(&mut self, stop: Exchange, now: Duration) -> Vec<Output> {
        let mut outputs = Vec::new();
        self.framer.clear();
        self.current = Some(Current::new(stop, None));
        let first = self.current.as_mut().and_then(|current| current.to_do.pop_front());
        if let Some(step) = first {
            match self.guard.verdict(&step.frame) {
                Verdict::Allowed => self.write(step, now, &mut outputs),
                Verdict::NeedsProof => self.fail(Outcome::Forbidden("a stop may not need proof".into())),
                Verdict::Forbidden(reason) => self.fail(Outcome::Forbidden(reason)),
            }
        }
        self.advance(now, &mut outputs);
        outputs
    }

    /// When [`step`](Self::step) should be called next if nothing comes in.
    pub fn wake_at(&self) -> Option<Duration> {
        self.current.as_ref().map(|current| match current.wait {
            Wait::Turn => self.turn(),
            Wait::Leaving => self.wire_free,
            Wait::Answer { deadline, .. } | Wait::Proof { deadline, .. } => deadline,
        })
    }

    /// Until when the line stays silent.
    pub fn ready_at(&self) -> Duration {
        self.ready_at
    }

    /// Whether most of what the line can carry fits nothing.
    pub fn is_flooded(&self) -> bool {
        self.noise.is_flood()
    }

    /// Whether no exchange is being played.
    pub fn is_idle(&self) -> bool {
        self.current.is_none()
    }

    fn turn(&self) -> Duration {
        self.wire_free.max(self.ready_at)
    }

    fn recover(&mut self, now: Duration) {
        self.ready_at = self.ready_at.max(now.max(self.wire_free) + self.family.recovery());
    }

    fn fail(&mut self, outcome: Outcome) {
        if let Some(current) = &mut self.current {
            current.fail(outcome);
        }
    }

    /// The line was opened, or failed, or took only part of a frame.
    fn trouble(&mut self, now: Duration, outputs: &mut Vec<Output>) {
        self.guard = Guard::unknown(self.family);
        self.framer.clear();
        self.echo.lapse();
        self.echo.forget();
        self.wire_free = now;
        self.recover(now);
        if let Some(current) = self.current.take() {
            outputs.push(Output::Done(current.failure.unwrap_or(Outcome::NoAnswer)));
        }
    }

    fn end_if_over(&mut self, outputs: &mut Vec<Output>) {
        let over = self.current.take_if(|current| matches!(current.wait, Wait::Turn) && current.is_over());
        outputs.extend(over.map(|over| Output::Done(over.outcome())));
    }

    /// Goes on as far as the time allows.
    fn advance(&mut self, now: Duration, outputs: &mut Vec<Output>) {
        while let Some(current) = &mut self.current {
            match &current.wait {
                Wait::Turn if current.is_over() => self.end_if_over(outputs),
                Wait::Turn if now < self.wire_free.max(self.ready_at) => return,
                Wait::Turn => {
                    if !self.take_turn(now, outputs) {
                        return;
                    }
                }
                Wait::Leaving if now < self.wire_free => return,
                Wait::Leaving => current.wait = Wait::Turn,
                Wait::Answer { deadline, .. } | Wait::Proof { deadline, .. } if now < *deadline => return,
                Wait::Answer { .. } | Wait::Proof { .. } => self.missing(now, outputs),
            }
        }
    }
}
