//! What a player remembers of its talks, for the status: last sent, last read, counts, contact.

use crate::terms::Moment;

use super::conversation::Outcome;
use super::status::{Contact, Detail, DeviceStatus, Said};

/// A device's talks so far.
#[derive(Debug, Clone)]
pub(super) struct Journal {
    contact: Contact,
    last_sent: Option<Said>,
    last_read: Option<Said>,
    commands: u64,
    pub(super) bytes: u64,
    pub(super) refused: u64,
    unanswered: u32,
}

impl Journal {
    pub(super) fn new() -> Self {
        Self {
            contact: Contact::Closed("not opened yet".to_owned()),
            last_sent: None,
            last_read: None,
            commands: 0,
            bytes: 0,
            refused: 0,
            unanswered: 0,
        }
    }

    pub(super) fn connected(&mut self) {
        self.contact = Contact::Unheard;
        self.unanswered = 0;
    }

    pub(super) fn disconnected(&mut self, why: &str) {
        self.contact = Contact::Closed(why.to_owned());
    }

    /// A command left; questions are not counted.
    pub(super) fn sent(&mut self, what: String, now: Moment) {
        self.commands += 1;
        self.last_sent = Some(said(what, now));
    }

    pub(super) fn read(&mut self, what: String, now: Moment) {
        self.last_read = Some(said(what, now));
    }

    /// Notes how an exchange ended. `answers` says whether the device owes an answer to it: a
    /// set that is silent by nature proves nothing.
    pub(super) fn ended(&mut self, outcome: &Outcome, answers: bool) {
        match outcome {
            Outcome::Done(_) if !answers => {}
            Outcome::Done(_) => self.heard(),
            Outcome::Refused(_) => {
                self.heard();
                self.refused += 1;
            }
            Outcome::Forbidden(_) => self.refused += 1,
            Outcome::TooLate => {}
            Outcome::NoAnswer => {
                self.unanswered += 1;
                self.contact = Contact::Bad(format!(
                    "no answer to {}: check that it is switched on, the cable, the line speed and the dialect",
                    times(self.unanswered)
                ));
            }
            Outcome::NotUnderstood(bytes) => {
                self.unanswered += 1;
                self.contact = Contact::Bad(format!(
                    "{} that the dialect does not know ({}): check the line speed and the dialect",
                    if self.unanswered == 1 { "an answer" } else { "answers" },
                    excerpt(bytes)
                ));
            }
        }
    }

    /// The status of the device of this name, with what is particular to its kind.
    pub(super) fn status(&self, name: &str, detail: Detail) -> DeviceStatus {
        DeviceStatus {
            name: name.to_owned(),
            contact: self.contact.clone(),
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

    fn heard(&mut self) {
        self.contact = Contact::Good;
        self.unanswered = 0;
    }
}

fn said(what: String, now: Moment) -> Said {
    Said { what, at: now.utc, mono: now.mono }
}

fn times(count: u32) -> String {
    if count == 1 { "a question".to_owned() } else { format!("{count} questions in a row") }
}

/// The first bytes, as hexadecimal pairs.
fn excerpt(bytes: &[u8]) -> String {
    let shown: Vec<String> = bytes.iter().take(8).map(|byte| format!("{byte:02X}")).collect();
    let more = if bytes.len() > 8 { " ..." } else { "" };
    format!("{}{more}", shown.join(" "))
}
