//! What comes in, and what does not: answers, refusals, reports, echo, collisions, silence.

use std::time::Duration;

use super::super::dialect::{Expect, Template};
use super::super::family::Heard;
use super::super::values::Values;
use super::{Conversation, Current, Outcome, Output, Wait};

impl Conversation {
    /// The answer's time is over.
    pub(super) fn missing(&mut self, now: Duration) {
        self.recover(now);
        let rest = self.framer.rest();
        self.framer.clear();
        self.echo.clear();
        let Some(current) = &mut self.current else { return };
        match std::mem::replace(&mut current.wait, Wait::Turn) {
            Wait::Answer { step, .. } => {
                if let Some(values) = decoded(&step.answer, &rest) {
                    current.values = merged(std::mem::take(&mut current.values), &values);
                    return;
                }
                let strange = current.strange.take().or((!rest.is_empty()).then_some(rest));
                current.fail(strange.map_or(Outcome::NoAnswer, Outcome::NotUnderstood));
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
            _ => current.fail_unsent(Outcome::NoAnswer),
        }
    }

    pub(super) fn hear(&mut self, byte: u8, now: Duration, outputs: &mut Vec<Output>) {
        if let Some(own) = self.echo.pop_front() {
            if own == byte {
                return;
            }
            self.echo.clear();
        }
        match self.framer.hear(byte) {
            None => {}
            Some(Heard::Collision) => self.collided(now),
            Some(Heard::Frame { from, to_all, content }) => self.heard(from, to_all, content, outputs),
        }
    }

    fn collided(&mut self, now: Duration) {
        self.recover(now);
        let is_waiting = |current: &Current| matches!(current.wait, Wait::Answer { .. } | Wait::Proof { .. });
        if self.current.as_ref().is_some_and(is_waiting) {
            self.fail(Outcome::NotUnderstood(vec![0xFC]));
        }
    }

    fn heard(&mut self, from: Option<u8>, to_all: bool, content: Vec<u8>, outputs: &mut Vec<Output>) {
        let is_taken = !to_all && self.taken_as_answer(from, &content, outputs);
        if is_taken {
            return;
        }
        let mut devices =
            self.settings.devices.iter().filter(|(address, _)| from.is_none() || *address == from);
        let unasked =
            devices.find_map(|(_, dialect)| dialect.unasked().iter().find_map(|form| form.decode(&content)));
        if let Some(values) = unasked {
            outputs.push(Output::Unasked { address: from, values });
        } else if let Some(current) = &mut self.current {
            current.strange = Some(content);
        }
    }

    fn taken_as_answer(&mut self, from: Option<u8>, content: &[u8], outputs: &mut Vec<Output>) -> bool {
        let refusal = |forms: &[Template]| {
            forms.iter().find(|form| form.decode(content).is_some()).map(Template::to_string)
        };
        let Some(current) = &mut self.current else {
            let mut devices = self.settings.devices.iter();
            let refused = devices.find_map(|(_, dialect)| refusal(dialect.refused()));
            outputs.extend(refused.clone().map(Output::Refused));
            return refused.is_some();
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
            _ => {
                outputs.extend(refused.clone().map(Output::Refused));
                return refused.is_some();
            }
        }
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
