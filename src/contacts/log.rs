//! The log: events, one a line, of which none is ever taken back. What is in the log is what they
//! come to.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::Contact;
use super::wire::time;
use crate::terms::Time;

/// The format of the lines that this version writes.
const FORMAT: u32 = 1;

/// Something that happened to a contact: one line of the log.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// Which contact; numbers are given in order and never again.
    pub id: u32,
    /// When it was written down.
    pub at: Time,
    /// What happened.
    pub what: What,
}

/// What can happen to a contact.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// It was written down, so.
    Added(Box<Contact>),
    /// It was changed, and is so since.
    Edited(Box<Contact>),
    /// It counts no more.
    Removed,
    /// It counts again.
    Restored,
}

/// The line's form: flat, so that ten thousand of them are read in no time.
#[derive(Serialize, Deserialize)]
struct Line<C> {
    format: u32,
    id: u32,
    #[serde(with = "time")]
    at: Time,
    event: Kind,
    #[serde(skip_serializing_if = "Option::is_none")]
    contact: Option<C>,
}

#[derive(Clone, Copy, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Kind {
    Added,
    Edited,
    Removed,
    Restored,
}

impl Event {
    /// What happened to a contact, and when it was written down.
    pub fn new(id: u32, at: Time, what: What) -> Self {
        Self { id, at, what }
    }

    /// Its line, with the line's end.
    pub fn line(&self) -> String {
        let (event, contact) = match &self.what {
            What::Added(contact) => (Kind::Added, Some(contact)),
            What::Edited(contact) => (Kind::Edited, Some(contact)),
            What::Removed => (Kind::Removed, None),
            What::Restored => (Kind::Restored, None),
        };
        let line = Line { format: FORMAT, id: self.id, at: self.at, event, contact };
        format!("{}\n", serde_json::to_string(&line).unwrap_or_default())
    }

    fn read(line: &[u8]) -> Result<Self, String> {
        let read: Line<Box<Contact>> = match serde_json::from_slice(line) {
            Ok(read) => read,
            // Another format's line may have other members.
            Err(error) => return Err(other_format(line).unwrap_or_else(|| no_event(&error))),
        };
        if let Some(other) = not_ours(read.format) {
            return Err(other);
        }
        let what = match (read.event, read.contact) {
            (Kind::Added, Some(contact)) => What::Added(contact),
            (Kind::Edited, Some(contact)) => What::Edited(contact),
            (Kind::Removed, _) => What::Removed,
            (Kind::Restored, _) => What::Restored,
            (Kind::Added | Kind::Edited, None) => {
                return Err("it is no event of a contact: `contact` is missing".to_owned());
            }
        };
        Ok(Self::new(read.id, read.at, what))
    }
}

fn not_ours(format: u32) -> Option<String> {
    (format != FORMAT).then(|| format!("it is of format {format}, and this Beamhand knows format {FORMAT}"))
}

fn other_format(line: &[u8]) -> Option<String> {
    #[derive(Deserialize)]
    struct Head {
        format: u32,
    }
    serde_json::from_slice(line).ok().and_then(|head: Head| not_ours(head.format))
}

/// A contact of the log.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// As it is now.
    pub contact: Contact,
    /// It does not count.
    pub is_removed: bool,
}

/// A line that could not be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Complaint {
    /// From 1.
    pub line: usize,
    /// Why, for people.
    pub why: String,
}

/// What the lines of a log come to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Log {
    entries: BTreeMap<u32, Entry>,
    complaints: Vec<Complaint>,
}

impl Log {
    /// From the file's bytes. A line that can't be used is named and passed over.
    pub fn read(bytes: &[u8]) -> Self {
        let mut log = Self::default();
        let is_whole = bytes.is_empty() || bytes.ends_with(b"\n");
        let lines: Vec<&[u8]> = bytes.split(|byte| *byte == b'\n').collect();
        for (at, line) in lines.iter().enumerate().filter(|(_, line)| !line.trim_ascii().is_empty()) {
            let is_torn = !is_whole && at + 1 == lines.len();
            if let Err(why) = Event::read(line).and_then(|event| log.take(event)) {
                let why =
                    if is_torn { "a write was cut off here: the line has no end".to_owned() } else { why };
                log.complaints.push(Complaint { line: at + 1, why });
            }
        }
        log
    }

    /// Takes in what happened next.
    ///
    /// # Errors
    /// In words, for an event that can't happen to the contact that it names.
    pub fn take(&mut self, event: Event) -> Result<(), String> {
        let Event { id, what, .. } = event;
        let known = self.entries.get_mut(&id);
        match (what, known) {
            (What::Added(contact), None) => {
                self.entries.insert(id, Entry { contact: *contact, is_removed: false });
            }
            (What::Added(_), Some(_)) => {
                return Err(format!("number {id} was given to another contact before"));
            }
            (_, None) => return Err(format!("no contact has the number {id}")),
            (What::Edited(contact), Some(entry)) => entry.contact = *contact,
            (What::Removed, Some(entry)) => entry.is_removed = true,
            (What::Restored, Some(entry)) => entry.is_removed = false,
        }
        Ok(())
    }

    /// What could not be used.
    pub fn complaints(&self) -> &[Complaint] {
        &self.complaints
    }

    /// A contact by its number, also one that was removed.
    pub fn entry(&self, id: u32) -> Option<&Entry> {
        self.entries.get(&id)
    }

    /// Every contact with its number, also those that were removed, in the order of their times.
    pub fn entries(&self) -> Vec<(u32, &Entry)> {
        let mut all: Vec<(u32, &Entry)> = self.entries.iter().map(|(id, entry)| (*id, entry)).collect();
        all.sort_by_key(|(id, entry)| (entry.contact.time, *id));
        all
    }

    /// The contacts that count, in no order of time.
    pub fn contacts(&self) -> impl Iterator<Item = (u32, &Contact)> {
        let counts = self.entries.iter().filter(|(_, entry)| !entry.is_removed);
        counts.map(|(id, entry)| (*id, &entry.contact))
    }

    /// The number of the contact that is added next.
    pub fn next_id(&self) -> u32 {
        self.entries.last_key_value().map_or(1, |(id, _)| id.saturating_add(1))
    }
}

/// The place within the line, without the library's "line 1", which is another one in the file.
fn no_event(error: &serde_json::Error) -> String {
    let text = error.to_string();
    let what = text.split(" at line ").next().unwrap_or_default();
    format!("it is no event of a contact: {what}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::parse_time;

    fn contact(callsign: &str) -> Contact {
        Contact::new(callsign.parse().unwrap(), parse_time("2026-11-25T18:38:00Z").unwrap())
    }

    fn added(id: u32, callsign: &str) -> Event {
        what(id, What::Added(contact(callsign).into()))
    }

    fn what(id: u32, what: What) -> Event {
        Event::new(id, parse_time("2026-11-25T18:39:00Z").unwrap(), what)
    }

    fn text(events: &[Event]) -> String {
        events.iter().map(Event::line).collect()
    }

    fn names(log: &Log) -> Vec<(u32, String)> {
        log.contacts().map(|(id, contact)| (id, contact.callsign.to_string())).collect()
    }

    #[test]
    fn a_line_is_what_other_programs_may_rely_on() {
        let line = added(7, "Q1ABC").line();
        let wanted = r#"{"format":1,"id":7,"at":"2026-11-25T18:39:00.000Z","event":"added","contact":{"callsign":"Q1ABC","time":"2026-11-25T18:38:00.000Z"}}"#;
        assert_eq!(line, format!("{wanted}\n"));
        let removed = r#"{"format":1,"id":7,"at":"2026-11-25T18:39:00.000Z","event":"removed"}"#;
        assert_eq!(what(7, What::Removed).line(), format!("{removed}\n"));
    }

    #[test]
    fn the_log_is_what_its_events_come_to_and_forgets_none() {
        let events = [
            added(1, "Q1A"),
            added(2, "Q1B"),
            what(1, What::Edited(contact("Q1C").into())),
            what(2, What::Removed),
            added(3, "Q1D"),
            what(3, What::Removed),
            what(3, What::Restored),
        ];
        let log = Log::read(text(&events).as_bytes());
        assert_eq!(names(&log), [(1, "Q1C".to_owned()), (3, "Q1D".to_owned())]);
        assert_eq!((log.entries().len(), log.next_id(), log.complaints()), (3, 4, [].as_slice()));
    }

    #[test]
    fn a_write_that_was_cut_off_anywhere_costs_its_own_line_alone() {
        let (first, second) = (added(1, "Q1A").line(), added(2, "Q1B").line());
        for cut in 1..second.len() - 1 {
            let torn = format!("{first}{}", &second[..cut]);
            let log = Log::read(torn.as_bytes());
            assert_eq!(names(&log), [(1, "Q1A".to_owned())], "{cut}");
            assert!(log.complaints()[0].why.contains("cut off"), "{cut}");
            let after = format!("{torn}\n{}", added(2, "Q1D").line());
            let log = Log::read(after.as_bytes());
            assert_eq!(names(&log), [(1, "Q1A".to_owned()), (2, "Q1D".to_owned())], "{cut}");
            assert_eq!(log.complaints().len(), 1);
        }
        // All but the line's end: nothing is missing.
        let log = Log::read(format!("{first}{}", second.trim_end()).as_bytes());
        assert_eq!((names(&log).len(), log.complaints().len()), (2, 0));
    }

    #[test]
    fn what_is_no_event_is_named_with_its_line() {
        let newer = added(2, "Q1B").line().replace("\"format\":1", "\"format\":2");
        let bad_call = added(2, "Q1B").line().replace("Q1B", "Q 1");
        let text = format!(
            "nonsense\n{}{newer}{bad_call}\n\u{0}\n{}",
            added(1, "Q1A").line(),
            added(1, "Q1A").line()
        );
        let log = Log::read(text.as_bytes());
        let complaints: Vec<String> = log
            .complaints()
            .iter()
            .map(|complaint| format!("{}: {}", complaint.line, complaint.why))
            .collect();
        for (complaint, wanted) in complaints.iter().zip([
            "1: it is no event",
            "3: it is of format 2",
            "4: it is no event of a contact: \"Q 1\" can't be a callsign: ' ', character 2,",
            "6: it is no event",
            "7: number 1 was given to another contact before",
        ]) {
            assert!(complaint.starts_with(wanted), "{complaint}");
        }
        assert_eq!((complaints.len(), names(&log).len()), (5, 1));
        let unknown = Log::read(text_of_unknown().as_bytes());
        assert!(unknown.complaints()[0].why.contains("no contact has the number 9"));
    }

    fn text_of_unknown() -> String {
        text(&[what(9, What::Removed)])
    }

    #[test]
    fn bytes_that_are_no_text_spoil_one_line() {
        let mut bytes = added(1, "Q1A").line().into_bytes();
        bytes.extend(b"{\"format\":1,\xFF}\n");
        bytes.extend(added(2, "Q1B").line().into_bytes());
        let log = Log::read(&bytes);
        assert_eq!((names(&log).len(), log.complaints().len()), (2, 1));
    }
}
