//! What comes in, and what does not: answers, refusals, reports, echo, collisions, silence.

use std::time::Duration;

use super::super::dialect::{Expect, Step, Template};
use super::super::family::{Family, Heard};
use super::super::symptoms::Fact;
use super::super::values::Values;
use super::echo::Came;
use super::{Conversation, Current, Outcome, Output, Wait};

/// An answer without an end of its own has ended when nothing came for so long.
const QUIET_END: Duration = Duration::from_millis(50);

impl Conversation {
    /// The answer's time is over.
    pub(super) fn missing(&mut self, now: Duration, outputs: &mut Vec<Output>) {
        let held = self.echo.lapse();
        held.into_iter().for_each(|byte| self.hear_frame_byte(byte, now, outputs));
        let Some(current) = &mut self.current else { return };
        // What was held may have been the answer.
        if !matches!(current.wait, Wait::Answer { .. } | Wait::Proof { .. }) {
            return;
        }
        let rest = self.framer.rest();
        self.framer.clear();
        let wait = std::mem::replace(&mut current.wait, Wait::Turn);
        self.recover(now);
        let has_ended = now.saturating_sub(self.heard_at) >= QUIET_END;
        let Some(current) = &mut self.current else { return };
        match wait {
            Wait::Answer { step, .. } => {
                if let Some(values) = decoded(&step.answer, &rest).filter(|_| has_ended) {
                    self.noise.claimed(rest.len());
                    current.values = merged(std::mem::take(&mut current.values), &values);
                    return;
                }
                let strange = current.strange.take();
                self.unanswered(&step, &rest, strange, outputs);
            }
            // Refused: by this question's own radio, or late, for a command before it. The silence
            // that follows lets a late one pass; who refuses the question again is in step.
            Wait::Proof { .. } if current.proof_refused.is_some() && !current.asked_again => {
                current.asked_again = true;
            }
            // The silence that follows proves as much as the answer would have.
            Wait::Proof { .. } if self.family.silence_proves() => {}
            // Another device of the bus that says nothing is taken to be off.
            Wait::Proof { address, .. } if address != current.exchange.address => self.guard.proven(address),
            _ => {
                current.fail_unsent(Outcome::NoAnswer);
                match self.half_proof(&rest) {
                    Some(half) => outputs.push(Output::Noticed(half)),
                    None => self.silence(outputs),
                }
            }
        }
    }

    /// Says what came in place of the answer.
    fn unanswered(&mut self, step: &Step, rest: &[u8], strange: Option<Vec<u8>>, outputs: &mut Vec<Output>) {
        if let Some(frame) = strange {
            self.fail(Outcome::NotUnderstood(frame));
        } else if let Some(half) = self.half_answer(&step.answer, rest) {
            self.fail(Outcome::NoAnswer);
            outputs.push(Output::Noticed(half));
        } else if !rest.is_empty() {
            self.fail(Outcome::NotUnderstood(rest.to_vec()));
        } else {
            self.fail(Outcome::NoAnswer);
            self.silence(outputs);
        }
        self.echo.forget();
        self.noise.set_aside();
    }

    /// Nothing came, or only from somebody else.
    fn silence(&mut self, outputs: &mut Vec<Output>) {
        let asked = self.current.as_ref().and_then(|current| current.foreign.zip(current.exchange.address));
        outputs.push(Output::Noticed(match asked {
            Some((from, wanted)) => Fact::Foreign { from, wanted },
            None => Fact::Silence { baud: self.settings.baud, stray: self.noise.pending() },
        }));
    }

    /// Whether `rest` is the beginning of an answer to the proof question, as far as that names itself.
    fn half_proof(&self, rest: &[u8]) -> Option<Fact> {
        let question = self.family.proof_question(None)?;
        let names_itself = self.family == Family::Semicolon && self.family.proves(&question, rest);
        names_itself.then_some(Fact::HalfAnswer { came: rest.len(), of: None })
    }

    /// Whether `rest` is the beginning of an answer.
    fn half_answer(&self, expected: &Expect, rest: &[u8]) -> Option<Fact> {
        let Expect::Answer(forms) = expected else { return None };
        let (before, around) = self.family.envelope();
        let content = rest.get(before.min(rest.len())..)?;
        let form = forms.iter().find(|form| !rest.is_empty() && form.may_begin_with(content))?;
        let preamble = if around > 0 { around - before - 1 } else { 0 };
        let of = form.length().map(|length| length + around);
        Some(Fact::HalfAnswer { came: rest.len() + preamble, of })
    }

    pub(super) fn hear(&mut self, byte: u8, now: Duration, outputs: &mut Vec<Output>) {
        self.heard_at = now;
        self.noise.byte(byte);
        match self.echo.hear(byte) {
            Came::Held => {}
            Came::Echo(length) => {
                self.noise.claimed(length);
                outputs.push(Output::Noticed(Fact::Echo));
            }
            Came::Bytes(bytes) => {
                bytes.into_iter().for_each(|byte| self.hear_frame_byte(byte, now, outputs));
            }
        }
    }

    /// A byte that is no echo.
    pub(super) fn hear_frame_byte(&mut self, byte: u8, now: Duration, outputs: &mut Vec<Output>) {
        match self.framer.hear(byte) {
            None => {}
            Some(Heard::Collision) => self.collided(now, outputs),
            Some(Heard::Passing { length }) => self.noise.claimed(length),
            Some(Heard::Frame { from, to_all, content }) => self.heard(from, to_all, content, now, outputs),
        }
    }

    /// What others do to each other holds nobody up: a bus that is never quiet would else never
    /// be spoken on.
    fn collided(&mut self, now: Duration, outputs: &mut Vec<Output>) {
        let is_waiting = |current: &Current| matches!(current.wait, Wait::Answer { .. } | Wait::Proof { .. });
        if self.current.as_ref().is_some_and(is_waiting) {
            self.recover(now);
            self.fail(Outcome::NoAnswer);
            outputs.push(Output::Noticed(Fact::Collision));
        }
    }

    fn heard(
        &mut self,
        from: Option<u8>,
        to_all: bool,
        content: Vec<u8>,
        now: Duration,
        outputs: &mut Vec<Output>,
    ) {
        if !to_all && self.taken_as_answer(from, &content, now, outputs) {
            self.noise.claimed(content.len());
            return;
        }
        let is_known = |address: &Option<u8>| from.is_none() || *address == from;
        let mut devices = self.settings.devices.iter().filter(|(address, _)| is_known(address)).peekable();
        let is_foreign = devices.peek().is_none();
        let unasked =
            devices.find_map(|(_, dialect)| dialect.unasked().iter().find_map(|form| form.decode(&content)));
        if let Some(values) = unasked {
            self.noise.claimed(content.len());
            outputs.push(Output::Unasked { address: from, values });
        } else if is_foreign {
            self.noise.claimed(content.len());
            if let Some(current) = self.current.as_mut().filter(|_| !to_all) {
                current.foreign = from;
            }
        } else if let Some(current) = &mut self.current {
            current.strange = Some(content);
        }
    }

    fn taken_as_answer(
        &mut self,
        from: Option<u8>,
        content: &[u8],
        now: Duration,
        outputs: &mut Vec<Output>,
    ) -> bool {
        let refusal = |forms: &[Template]| {
            forms.iter().find(|form| form.decode(content).is_some()).map(Template::to_string)
        };
        let Some(current) = &mut self.current else {
            let mut devices = self.settings.devices.iter();
            let refused = devices.find_map(|(_, dialect)| refusal(dialect.refused()));
            return self.refused_late(refused, now, outputs);
        };
        let refused = refusal(&current.exchange.refused);
        match &current.wait {
            Wait::Answer { step, .. } if from == current.exchange.address => {
                if let Some(values) = decoded(&step.answer, content) {
                    if self.family.proves(&step.frame, content) {
                        self.guard.proven(from);
                    }
                    self.framer.clear();
                    current.values = merged(std::mem::take(&mut current.values), &values);
                    current.wait = Wait::Turn;
                } else if let Some(text) = refused {
                    if self.family.is_addressed() {
                        self.guard.proven(from);
                    }
                    current.fail(Outcome::Refused(text));
                } else {
                    return false;
                }
            }
            Wait::Proof { question, address, .. } if from == *address => {
                let proves = self.family.proves(question, content);
                match refused {
                    _ if proves => outputs.extend(current.proof_refused.take().map(Output::Refused)),
                    Some(_) if current.asked_again => current.proof_refused = None,
                    Some(text) => {
                        current.proof_refused = Some(text);
                        return true;
                    }
                    None => return false,
                }
                self.guard.proven(from);
                current.asked_again = false;
                current.wait = Wait::Turn;
            }
            _ => return self.refused_late(refused, now, outputs),
        }
        true
    }

    /// Whether a refusal belongs to a silent command that was sent shortly before.
    fn refused_late(&mut self, text: Option<String>, now: Duration, outputs: &mut Vec<Output>) -> bool {
        let (commands, until) = self.refusable;
        let Some(text) = text.filter(|_| commands > 0 && now <= until) else { return false };
        self.refusable.0 -= 1;
        outputs.push(Output::Refused(text));
        true
    }
}

fn decoded(expected: &Expect, content: &[u8]) -> Option<Values> {
    match expected {
        Expect::Nothing => None,
        Expect::Answer(forms) => forms.iter().find_map(|form| form.decode(content)),
    }
}

fn merged(values: Values, more: &Values) -> Values {
    more.iter().fold(values, |values, (name, value)| values.with(name, value))
}
