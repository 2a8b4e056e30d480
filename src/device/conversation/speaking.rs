//! What goes out: the next frame, or the proof that must come before it.

use std::time::Duration;

use super::super::dialect::{Expect, Step};
use super::super::family::Verdict;
use super::{Conversation, Outcome, Output, Wait};

/// The longest answer of any family, bytes; counted into the time-out where its form does not
/// say how long it is.
const LONGEST_ANSWER: usize = 40;

/// How many silent commands may still be refused, and for how long after the last has left: a
/// refusal beyond that belongs to nothing that was said.
const REFUSABLE: usize = 8;
const REFUSED_WITHIN: Duration = Duration::from_secs(1);

impl Conversation {
    /// Writes the next frame, or what must go before it. `false` if there is nothing to do before
    /// the next moment.
    pub(super) fn take_turn(&mut self, now: Duration, outputs: &mut Vec<Output>) -> bool {
        let Some(current) = &mut self.current else { return false };
        let Some(step) = current.to_do.front() else {
            current.to_do = std::mem::take(&mut current.finally);
            current.in_finally = true;
            return true;
        };
        // A proof that was begun is brought to its end: the next try finds the device in step.
        if !current.started && !current.asked_again && current.latest.is_some_and(|latest| now > latest) {
            current.fail_unsent(Outcome::TooLate);
            return true;
        }
        match self.guard.verdict(&step.frame) {
            Verdict::Allowed => {
                if let Some(step) = current.to_do.pop_front() {
                    self.write(step, now, outputs);
                }
                true
            }
            Verdict::NeedsProof => self.prove(now, outputs),
            Verdict::Forbidden(reason) => {
                current.fail_unsent(Outcome::Forbidden(reason));
                true
            }
        }
    }

    pub(super) fn write(&mut self, step: Step, now: Duration, outputs: &mut Vec<Output>) {
        self.put(step.frame.clone(), is_short(&step.answer), now, outputs);
        if step.answer == Expect::Nothing {
            self.refusable = ((self.refusable.0 + 1).min(REFUSABLE), self.wire_free + REFUSED_WITHIN);
        }
        let bytes = self.settings.byte_time;
        let Some(current) = &mut self.current else { return };
        current.started = true;
        (current.strange, current.foreign) = (None, None);
        current.wait = match &step.answer {
            Expect::Nothing => Wait::Leaving,
            Expect::Answer(forms) => {
                // One form without a length makes the longest answer count.
                let length = forms.iter().try_fold(0, |most, form| Some(form.length()?.max(most)));
                self.framer.expect(length.unwrap_or(0));
                let deadline =
                    self.wire_free + self.settings.answer + bytes * length.unwrap_or(LONGEST_ANSWER) as u32;
                Wait::Answer { deadline, step }
            }
        };
    }

    /// `short_answer`: a good answer may be a single byte.
    fn put(&mut self, frame: Vec<u8>, short_answer: bool, now: Duration, outputs: &mut Vec<Output>) {
        self.guard.sent(&frame);
        self.wire_free = self.wire_free.max(now) + self.settings.byte_time * frame.len() as u32;
        // Frames of a bus say who sent them.
        if !self.family.is_addressed() {
            let no_echo = self.echo.sent(&frame, short_answer);
            no_echo.into_iter().for_each(|byte| self.hear_frame_byte(byte, now, outputs));
        }
        outputs.push(Output::Write(frame));
    }

    /// Brings the proof that the next frame needs: by silence, or by a question.
    fn prove(&mut self, now: Duration, outputs: &mut Vec<Output>) -> bool {
        let silent_until = self.wire_free + self.family.recovery();
        if self.family.silence_proves() && now >= silent_until {
            self.guard.proven(None);
            return true;
        }
        let Some(current) = &mut self.current else { return false };
        let address = self.guard.suspect(current.exchange.address);
        let Some(question) = self.family.proof_question(address) else {
            self.ready_at = silent_until;
            return true;
        };
        if self.guard.verdict(&question) != Verdict::Allowed {
            current.fail_unsent(Outcome::Forbidden("the device can't be asked whether it is in step".into()));
            return true;
        }
        self.put(question.clone(), false, now, outputs);
        let length = self.family.proof_length();
        self.framer.expect(length.unwrap_or(0));
        let patience =
            self.settings.answer + self.settings.byte_time * length.unwrap_or(LONGEST_ANSWER) as u32;
        if let Some(current) = &mut self.current {
            (current.strange, current.foreign) = (None, None);
            current.wait = Wait::Proof { deadline: self.wire_free + patience, question, address };
        }
        true
    }
}

/// Whether an answer of one byte is a good one.
fn is_short(expected: &Expect) -> bool {
    match expected {
        Expect::Nothing => false,
        Expect::Answer(forms) => forms.iter().any(|form| form.length() == Some(1)),
    }
}
