//! What a player remembers of its talks, for the status: last sent, last read, counts, symptoms.

use serde::{Deserialize, Serialize};

use crate::terms::Moment;

use super::conversation::Outcome;
use super::status::{Contact, Detail, DeviceStatus, Said};
use super::symptoms::{Fact, Symptoms};

/// A device's talks so far.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Journal {
    /// How it is with the port, while it is not open.
    closed: Option<Contact>,
    symptoms: Symptoms,
    last_sent: Option<Said>,
    last_read: Option<Said>,
    commands: u64,
    pub(super) bytes: u64,
    pub(super) refused: u64,
}

impl Journal {
    pub(super) fn new() -> Self {
        Self {
            closed: Some(Contact::Unopened),
            symptoms: Symptoms::default(),
            last_sent: None,
            last_read: None,
            commands: 0,
            bytes: 0,
            refused: 0,
        }
    }

    pub(super) fn connected(&mut self) {
        self.closed = None;
        self.symptoms = Symptoms::default();
    }

    pub(super) fn disconnected(&mut self, why: &str) {
        self.closed = Some(Contact::Closed(why.to_owned()));
    }

    /// A command left; questions are not counted.
    pub(super) fn sent(&mut self, what: String, now: Moment) {
        self.commands += 1;
        self.last_sent = Some(said(what, now));
    }

    pub(super) fn read(&mut self, what: String, now: Moment) {
        self.last_read = Some(said(what, now));
    }

    pub(super) fn noticed(&mut self, fact: &Fact) {
        self.symptoms.noticed(fact);
    }

    /// The device takes commands and stays where it is, in these words; `None`: no longer.
    pub(super) fn stays(&mut self, how: Option<String>) {
        self.symptoms.stays(how);
    }

    /// Notes how an exchange ended. `answers` says whether the device owes an answer to it: a
    /// set that is silent by nature proves nothing. Why no answer came is noticed on its own.
    pub(super) fn ended(&mut self, outcome: &Outcome, answers: bool) {
        match outcome {
            Outcome::Done(_) if answers => self.symptoms.answered(),
            Outcome::Refused(text) => {
                self.symptoms.refused(text);
                self.refused += 1;
            }
            Outcome::Forbidden(_) => self.refused += 1,
            Outcome::NotUnderstood(bytes) => self.symptoms.noticed(&Fact::Strange(bytes.clone())),
            Outcome::Done(_) | Outcome::TooLate | Outcome::NoAnswer => {}
        }
    }

    /// The status of the device of this name, with what is particular to its kind.
    pub(super) fn status(&self, name: &str, detail: Detail) -> DeviceStatus {
        DeviceStatus {
            name: name.to_owned(),
            contact: self.closed.clone().unwrap_or_else(|| self.symptoms.contact()),
            last_sent: self.last_sent.clone(),
            last_read: self.last_read.clone(),
            commands: self.commands,
            bytes: self.bytes,
            refused: self.refused,
            orders: 0,
            behind: false,
            detail,
        }
    }
}

fn said(what: String, now: Moment) -> Said {
    Said { what, at: now.utc, mono: now.mono }
}
