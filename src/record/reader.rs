//! Reads a record as it was left: with a last line that is torn, with entries of a later version,
//! with lines that a bad card has spoilt. What can be read is; the rest is named.

use std::io;
use std::path::Path;

use serde::Deserialize;

use super::entry::{Entry, Head, Look, Pause, Stamp};
use super::{FORMAT, TimeStep, from_text};
use crate::store;

/// A record is never larger, bytes: ten times what a configuration may allow.
const LARGEST: u64 = 1 << 30;
/// A line is never longer, bytes; the head holds a whole configuration.
const LONGEST: usize = 4 << 20;
/// So many things that are wrong are named; the rest is counted.
const NAMED: usize = 20;

/// What could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Damage {
    /// The line, counted from 1.
    pub line: usize,
    /// What is the matter with it.
    pub what: String,
    /// It is whole, and of a kind that a later version writes.
    pub is_unknown: bool,
}

/// A record, as far as it could be read.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// What it is of.
    pub head: Head,
    /// Everything behind the head, each with its line in the file.
    pub entries: Vec<(usize, Entry)>,
    /// What was passed over.
    pub passed_over: Vec<Damage>,
    /// How much more was passed over.
    pub not_named: usize,
    /// The last line has no end: the computer or the daemon stopped while it was written.
    pub is_torn: bool,
}

impl Record {
    /// Whether nothing of it is missing, as far as can be seen.
    pub fn is_whole(&self) -> bool {
        let lost = self.entries.iter().any(|(_, entry)| matches!(entry, Entry::Lost { .. }));
        self.passed_over.is_empty() && !lost
    }

    fn pass_over(&mut self, line: usize, (what, is_unknown): (String, bool)) {
        if self.passed_over.len() < NAMED {
            self.passed_over.push(Damage { line, what, is_unknown });
        } else {
            self.not_named += 1;
        }
    }
}

/// Reads a file of records' folder.
///
/// # Errors
/// What the system said, or why it is no record, in words.
pub fn read_file(file: &Path) -> Result<Record, String> {
    let failed = |error: io::Error| format!("{}: {error}", file.display());
    let bytes = store::read_up_to(file, LARGEST).map_err(failed)?;
    let bytes = bytes.ok_or_else(|| format!("{} is not there", file.display()))?;
    read(&bytes).map_err(|why| format!("{}: {why}", file.display()))
}

/// Reads a record's bytes.
///
/// # Errors
/// Why it is no record of this form.
pub fn read(bytes: &[u8]) -> Result<Record, String> {
    let is_torn = bytes.last().is_some_and(|last| *last != b'\n');
    let mut lines = bytes.split(|byte| *byte == b'\n').enumerate();
    let first = lines.next().map(|(_, line)| line).unwrap_or_default();
    let head = match understood(first) {
        Ok(Entry::Head(head)) if head.format == FORMAT => *head,
        Ok(Entry::Head(head)) => {
            return Err(format!("it has form {}, and this version reads {FORMAT}", head.format));
        }
        Ok(_) => return Err("its first line is no head of a record".to_owned()),
        Err((why, _)) => return Err(format!("its first line can't be read: {why}")),
    };
    let (entries, passed_over) = (Vec::new(), Vec::new());
    let mut record = Record { head, entries, passed_over, not_named: 0, is_torn };
    let last = bytes.iter().filter(|byte| **byte == b'\n').count();
    for (index, line) in lines {
        match understood(line) {
            _ if line.is_empty() => {}
            Ok(entry) => record.entries.push((index + 1, entry)),
            // A torn end is no surprise, and said once.
            Err(_) if is_torn && index == last => {}
            Err(why) => record.pass_over(index + 1, why),
        }
    }
    Ok(record)
}

#[derive(Deserialize)]
struct Kind {
    kind: String,
}

/// The kinds of this version.
const KINDS: [&str; 12] =
    ["head", "job", "session", "memo", "step", "pause", "request", "act", "tick", "ticks", "reading", "lost"];

/// An entry; or what is the matter, and whether it is only not known.
fn understood(line: &[u8]) -> Result<Entry, (String, bool)> {
    if line.len() > LONGEST {
        return Err((format!("it is longer than {} MiB", LONGEST >> 20), false));
    }
    let entry: Result<Entry, _> = serde_json::from_slice(line);
    entry.map_err(|error| match serde_json::from_slice::<Kind>(line) {
        Ok(Kind { kind }) if KINDS.contains(&kind.as_str()) || kind == "outcome" => {
            (format!("its \"{kind}\" can't be understood: {error}"), false)
        }
        Ok(Kind { kind }) => {
            let kind: String = kind.chars().filter(|c| !c.is_control()).take(40).collect();
            (format!("an entry \"{kind}\", which this version does not know"), true)
        }
        Err(error) => (format!("it is no entry: {error}"), false),
    })
}

impl Pause {
    /// Every look's stamp, the first one's too.
    pub fn stamps(&self) -> impl Iterator<Item = Stamp> + '_ {
        let steps = self.later.iter().enumerate().map(|(index, mono)| TimeStep {
            mono: *mono,
            drift: self.drifted.get(index).copied().unwrap_or_default(),
        });
        let first = self.at;
        std::iter::once(first).chain(steps.scan(first, |at, step| {
            *at = at.after(step);
            Some(*at)
        }))
    }

    /// Every look; `None` if they can't be read.
    pub fn looks(&self) -> Option<Vec<Look>> {
        let bytes = from_text(&self.bytes)?;
        let mut rest = bytes.as_slice();
        let mut said = self.said.iter().peekable();
        let looks = self.stamps().enumerate().map(|(index, at)| {
            let count = self.counts.get(index).copied().unwrap_or_default();
            let (now, after) = rest.split_at_checked(count)?;
            rest = after;
            let said = said.next_if(|(number, _)| *number == index).map(|(_, said)| said.clone());
            Some(Look { at, came: now.to_vec(), said: said.unwrap_or_default() })
        });
        looks.collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Came, LineHead, Step};
    use super::*;
    use crate::record::moments::Nanos;

    fn head() -> Head {
        Head {
            format: FORMAT,
            version: "0.1.0".to_owned(),
            begun: crate::terms::Time::default(),
            mono: Nanos(5_000),
            speed: 1.0,
            wire_speed: 1.0,
            satellite: "GANNET-1".to_owned(),
            link: "repeater".to_owned(),
            station: None,
            configuration: "format = 1\n".to_owned(),
            dialects: serde_json::Map::new(),
            lines: vec![LineHead { port: "/dev/a".to_owned(), devices: vec!["duplex".to_owned()] }],
        }
    }

    fn pause(at: Stamp, later: Vec<Nanos>, drifted: Vec<Nanos>) -> Pause {
        Pause { line: 1, at, later, drifted, counts: Vec::new(), bytes: String::new(), said: Vec::new() }
    }

    fn text(entries: &[Entry]) -> String {
        let lines = entries.iter().map(|entry| serde_json::to_string(entry).unwrap() + "\n");
        lines.collect()
    }

    fn some() -> Vec<Entry> {
        let at = Stamp { t: Nanos(2_000_000), drift: Nanos(-1_000) };
        vec![
            Entry::Head(Box::new(head())),
            Entry::Step(Step {
                line: 0,
                at,
                came: Came::Lost("unplugged".to_owned()),
                said: vec!["0xFE".to_owned(), "a".to_owned()],
            }),
            Entry::Pause(pause(at, vec![Nanos(20_001_000), Nanos(7)], Vec::new())),
            Entry::Lost { entries: 3, why: "the card is full".to_owned() },
        ]
    }

    #[test]
    fn what_was_written_is_read() {
        let record = read(text(&some()).as_bytes()).unwrap();
        assert_eq!(record.head, head());
        let entries: Vec<Entry> = record.entries.iter().map(|(_, entry)| entry.clone()).collect();
        assert_eq!(entries, some()[1..]);
        assert_eq!(record.entries[0].0, 2, "the line in the file");
        assert!(!record.is_torn && record.passed_over.is_empty() && !record.is_whole(), "something is lost");
    }

    #[test]
    fn cut_at_any_byte_all_whole_lines_are_read() {
        let whole = text(&some());
        let first = whole.find('\n').unwrap();
        for length in 0..whole.len() {
            let cut = &whole.as_bytes()[..length];
            let Ok(record) = read(cut) else {
                assert!(length < first, "{length}");
                continue;
            };
            let ends = cut.iter().filter(|byte| **byte == b'\n').count();
            // A last line of which only the end is missing can be read as well.
            assert!(record.entries.len() + 1 == ends.max(1) || record.is_torn, "{length}");
            assert!(record.passed_over.is_empty(), "{length}: {:?}", record.passed_over);
            assert_eq!(record.is_torn, !cut.ends_with(b"\n"));
        }
    }

    #[test]
    fn what_is_not_known_or_spoilt_is_named_and_passed_over() {
        let mut lines: Vec<String> = text(&some()).lines().map(str::to_owned).collect();
        lines.insert(2, "{\"kind\":\"weather\",\"t\":5}".to_owned());
        lines.insert(3, "{\"kind\":\"step\",\"t\":5}".to_owned());
        lines.insert(4, "\u{0}\u{0}\u{0}".to_owned());
        let record = read((lines.join("\n") + "\n").as_bytes()).unwrap();
        let said: Vec<String> =
            record.passed_over.iter().map(|d| format!("{}: {}", d.line, d.what)).collect();
        assert_eq!(said[0], "3: an entry \"weather\", which this version does not know");
        assert!(said[1].starts_with("4: its \"step\" can't be understood: missing field"), "{said:?}");
        assert!(said[2].starts_with("5: it is no entry"), "{said:?}");
        assert_eq!(record.entries.len(), 3);
    }

    #[test]
    fn what_is_no_record_says_so() {
        let other = Head { format: 9, ..head() };
        for (bytes, said) in [
            (String::new(), "first line can't be read"),
            ("hello\n".to_owned(), "first line can't be read"),
            (text(&some()[1..]), "no head"),
            (text(&[Entry::Head(Box::new(other))]), "form 9"),
        ] {
            let why = read(bytes.as_bytes()).unwrap_err();
            assert!(why.contains(said), "{why}");
        }
    }

    #[test]
    fn every_kind_is_known_to_the_reader() {
        // The compiler's own list is in the error that serde gives.
        let error = serde_json::from_str::<Entry>("{\"kind\":\"none\"}").unwrap_err().to_string();
        for kind in KINDS.iter().chain(&["outcome"]) {
            assert!(error.contains(&format!("`{kind}`")), "{kind}: {error}");
        }
        assert_eq!(error.matches('`').count() / 2, KINDS.len() + 2, "{error}");
    }

    /// The fuzzer's seed, spoilt at every byte in several ways.
    #[test]
    fn a_spoilt_record_is_read_as_far_as_it_goes() {
        let whole = include_bytes!("../../fuzz/seeds/record/small");
        let record = read(whole).unwrap();
        assert!(record.passed_over.is_empty() && !record.is_torn, "{:?}", record.passed_over);
        let head = whole.iter().position(|byte| *byte == b'\n').unwrap();
        for at in 0..whole.len() {
            for byte in [0, b'\n', b'"', b'9', b'}', 0xFF] {
                let mut spoilt = whole.to_vec();
                spoilt[at] = byte;
                let read = read(&spoilt);
                assert!(read.is_ok() || at <= head, "{at} {byte}");
                let Ok(record) = read else { continue };
                for (_, entry) in &record.entries {
                    if let Entry::Pause(pause) | Entry::Ticks(pause) = entry {
                        assert_eq!(pause.stamps().count(), pause.later.len() + 1);
                        assert!(pause.looks().is_none_or(|looks| looks.len() == pause.later.len() + 1));
                    }
                }
            }
        }
    }

    #[test]
    fn a_pause_tells_every_look() {
        let at = Stamp { t: Nanos(1_000), drift: Nanos(10) };
        let later = vec![Nanos(5), Nanos(6)];
        let uneven = pause(at, later.clone(), vec![Nanos(0), Nanos(-1)]);
        let stamps: Vec<(i64, i64)> = uneven.stamps().map(|at| (at.t.0, at.drift.0)).collect();
        assert_eq!(stamps, [(1_000, 10), (1_005, 10), (1_011, 9)]);
        let steady = pause(at, later.clone(), Vec::new());
        assert_eq!(steady.stamps().last().unwrap().drift, Nanos(10));
        let said = vec![(2, vec!["FB;".to_owned()])];
        let came = Pause { counts: vec![0, 3], bytes: "FA;".to_owned(), said, ..steady.clone() };
        let looks = came.looks().unwrap();
        let bytes: Vec<&[u8]> = looks.iter().map(|look| look.came.as_slice()).collect();
        assert_eq!(bytes, [b"".as_slice(), b"FA;", b""]);
        let said: Vec<usize> = looks.iter().map(|look| look.said.len()).collect();
        assert_eq!(said, [0, 0, 1]);
        assert_eq!(Pause { counts: vec![4], ..came }.looks(), None, "more bytes than there are");
    }
}
