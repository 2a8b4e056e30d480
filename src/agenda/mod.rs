//! Which pass comes next, and why. Pure: no I/O, no clock; the time zone is handed in.
//!
//! The rule, in a sentence: the list of satellites is gone through from the top, and each gets the
//! most minutes that those above it leave; satellites of equal importance share, so that together
//! they get the most. So a pass is cut short, or left out, only for one that is at least as
//! important, and never for any number of less important ones.
//!
//! The way through the room: [`useful`] says which parts of a pass count (the link is on, the
//! satellite is in sunlight where that is needed, the hours are not quiet); each such pass is a
//! [`Candidate`]; [`Agenda::of`] chooses among them and gives each a reason. The choice is exact: a
//! dynamic program over all pieces into which passes cut each other (`pieces`, `choose`).

mod candidate;
mod choose;
mod explain;
mod hours;
mod pieces;
mod travel;

pub use candidate::{Candidate, Path};
pub use hours::{Unfit, quiet_spans, useful};
pub use travel::Turnaround;

use crate::sky::Pass;
use crate::terms::{AzEl, Time, Validity, later};

/// What has less of use, seconds, is not worth a change-over.
pub const SHORTEST_S: f64 = 120.0;

/// What an agenda is made from.
#[derive(Debug, Clone)]
pub struct Question<'a> {
    /// Nothing begins before this.
    pub from: Time,
    /// What could be worked, in any order.
    pub candidates: &'a [Candidate],
    /// What is in progress: never given up.
    pub busy: Option<Busy>,
    /// What lies between two passes.
    pub turnaround: Turnaround,
    /// How long before a pass the station is prepared, seconds.
    pub lead_s: f64,
    /// When the mount must not move.
    pub quiet: &'a [Validity],
}

/// A session in progress, or another reason to begin nothing.
#[derive(Debug, Clone, PartialEq)]
pub struct Busy {
    /// What it is, for people: `GANNET-1 is in progress`.
    pub what: String,
    /// When it is over.
    pub until: Time,
    /// Where the mount stands then; `None` without a mount, or where nobody knows.
    pub end: Option<AzEl>,
}

/// A pass, or a part of it, with its verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The satellite.
    pub satellite: String,
    /// The link.
    pub link: String,
    /// It is only listened to.
    pub listens: bool,
    /// The whole pass.
    pub pass: Pass,
    /// What of the pass is of use, from the first instant to the last.
    pub window: Validity,
    /// What is worked of it, or would be.
    pub span: Validity,
    /// How much of that is of use, seconds.
    pub useful_s: f64,
    /// When its preparation begins; `None` if it is left out.
    pub prepare_at: Option<Time>,
    /// Why, in words.
    pub why: String,
}

impl Entry {
    /// Whether it is worked.
    pub fn is_chosen(&self) -> bool {
        self.prepare_at.is_some()
    }

    /// A pass of which nothing can be worked.
    pub fn unfit(satellite: &str, link: &str, pass: Pass, whole: Validity, unfit: &Unfit) -> Self {
        let (satellite, link, why) = (satellite.to_owned(), link.to_owned(), unfit.to_string());
        let (listens, useful_s) = (false, 0.0);
        Self { satellite, link, listens, pass, window: whole, span: whole, useful_s, prepare_at: None, why }
    }
}

/// What comes, in the order of time.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Agenda {
    /// Chosen and left out.
    pub entries: Vec<Entry>,
}

impl Agenda {
    /// Chooses; `unfit` are the passes that no choice can work.
    pub fn of(question: &Question, unfit: Vec<Entry>) -> Self {
        let pieces = pieces::pieces(question);
        let chosen = choose::choose(question, &pieces);
        let mut entries = explain::explain(question, &chosen);
        entries.extend(unfit);
        entries.sort_by_key(|entry| (entry.span.from, entry.span.until));
        Self { entries }
    }

    /// What is worked, in the order of time.
    pub fn chosen(&self) -> impl Iterator<Item = &Entry> {
        self.entries.iter().filter(|entry| entry.is_chosen())
    }

    /// What is worked at `now`, or next.
    pub fn next(&self, now: Time) -> Option<&Entry> {
        self.chosen().find(|entry| entry.span.until > now)
    }
}

/// When to prepare for a pass that begins at `begin`: early enough to turn there from the place
/// before or from the park position, but not while it is quiet, and not before what is before.
fn prepare_at(
    question: &Question,
    begin: Time,
    aim: Option<AzEl>,
    before: Option<(Time, Option<AzEl>)>,
) -> Time {
    let stands = before.and_then(|(_, stands)| stands);
    let turning = question.turnaround.longest_from(stands, aim);
    let wished = later(begin, -question.lead_s.max(turning));
    let quiet = question.quiet.iter().map(|quiet| quiet.until).filter(|end| *end <= begin).max();
    let free = [before.map(|(end, _)| end), quiet, Some(question.from)];
    free.into_iter().flatten().fold(wished, Time::max).min(begin)
}
