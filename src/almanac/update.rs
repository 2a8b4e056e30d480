//! From a source to the shelf.

use super::{Answer, Conditions, FetchError, Limits, Record, Shelf, Source, Tally, fetch};
use crate::sky::{Refused, read_elements};
use crate::terms::Time;

/// What came of asking a source.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// It was asked a short while ago, and is not again before this time.
    TooSoon(Time),
    /// It has nothing new.
    NotModified,
    /// Its sets were taken in, but for those that are named.
    Taken(Tally, Vec<Refused>),
    /// It gave nothing that could be used, in words; what was there stays.
    Failed(String),
}

/// Asks a source, if it is time, and takes in what it gives.
///
/// # Errors
/// The shelf can't be read or written, in words.
pub fn update(shelf: &Shelf, source: &Source, now: Time, limits: Limits) -> Result<Outcome, String> {
    // Written first, and in one go with the question whether it is time: whatever happens next, and
    // whoever else is at it, nobody is asked too often.
    let claimed = shelf.change_record(&source.name, |known| claim(known, source, now))?;
    let (before, asked) = match claimed {
        Err(next) => return Ok(Outcome::TooSoon(next)),
        Ok(records) => records,
    };
    let conditions = Conditions { etag: asked.etag.clone(), last_modified: asked.last_modified.clone() };
    match fetch(&source.url, &conditions, limits) {
        Ok(Answer::NotModified) => {
            shelf.note(&Record { good: Some(now), ..asked })?;
            Ok(Outcome::NotModified)
        }
        Ok(Answer::Fetched(text, conditions)) => take(shelf, asked, &text, conditions, now),
        Err(error) => {
            if let FetchError::Unreachable(_) = error {
                shelf.note(&before)?;
            }
            Ok(Outcome::Failed(error.to_string()))
        }
    }
}

/// The source's record as it is written down before it is asked, if it may be; and what came of it:
/// the record of before and that one, or when it may be asked.
fn claim(
    known: Option<Record>,
    source: &Source,
    now: Time,
) -> (Option<Record>, Result<(Record, Record), Time>) {
    let before = known.unwrap_or_else(|| Record::new(source));
    if let Some(next) = before.not_before(now) {
        return (None, Err(next));
    }
    // What is known of another place says nothing of this one.
    let before = if before.url == source.url.as_str() { before } else { Record::new(source) };
    let asked = Record { asked: Some(now), ..before.clone() };
    (Some(asked.clone()), Ok((before, asked)))
}

fn take(
    shelf: &Shelf,
    asked: Record,
    text: &str,
    conditions: Conditions,
    now: Time,
) -> Result<Outcome, String> {
    let read = read_elements(text);
    if let Err(why) = asked.judge(&read) {
        return Ok(Outcome::Failed(why));
    }
    let count = read.sets.len();
    let tally = shelf.change_sets(|sets| {
        let tally = sets.take(read.sets, &asked.name, now);
        (tally, tally.is_change())
    })?;
    // Only now: what is asked with the next time must be of sets that are safely there.
    let Conditions { etag, last_modified } = conditions;
    shelf.note(&Record { good: Some(now), sets: count, etag, last_modified, ..asked })?;
    Ok(Outcome::Taken(tally, read.refused))
}
