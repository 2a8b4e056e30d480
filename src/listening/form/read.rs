//! Spells out of a file's bytes, one after the other.

use std::fmt;
use std::iter::FusedIterator;
use std::ops::Range;

use super::super::Spell;
use super::{HEAD, LONGEST, MARK, PAUSE_S, block};
use crate::terms::seconds_between;

/// A spell is handed out in parts of so many readings at most: some satellites never set.
const LARGEST: usize = 1 << 18;

/// Bytes that make no block, and were passed over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Damage {
    /// Where they are in the file.
    pub bytes: Range<usize>,
    /// Nothing comes behind them: the computer or the daemon stopped in the middle of writing.
    pub is_end: bool,
    /// A later version of Beamhand wrote them.
    pub is_unknown: bool,
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Range { start, end } = self.bytes;
        let what = match (self.is_unknown, self.is_end) {
            (true, _) => "are of a form that this version does not know",
            (_, true) => "at the end are no whole block: something stopped while it was written",
            _ => "can't be read: they are damaged",
        };
        write!(f, "{} bytes from byte {start} on {what}", end.saturating_sub(start))
    }
}

/// Reads a file's bytes. One spell at a time is in memory; where bytes can't be read, that is told and
/// what follows is read.
pub fn read(bytes: &[u8]) -> Spells<'_> {
    Spells { bytes, at: 0, open: None }
}

/// The spells of a file, in the order in which they were written.
#[derive(Debug)]
pub struct Spells<'a> {
    bytes: &'a [u8],
    at: usize,
    /// What may go on in the next block.
    open: Option<Spell>,
}

impl Iterator for Spells<'_> {
    type Item = Result<Spell, Damage>;

    fn next(&mut self) -> Option<Self::Item> {
        while self.at < self.bytes.len() {
            let Some((spell, end)) = block_at(self.bytes, self.at) else {
                return Some(Err(self.pass_over()));
            };
            self.at = end;
            match &mut self.open {
                Some(open) if goes_on(open, &spell) => open.readings.extend(spell.readings),
                open => {
                    if let Some(whole) = open.replace(spell) {
                        return Some(Ok(whole));
                    }
                }
            }
        }
        self.open.take().map(Ok)
    }
}

impl FusedIterator for Spells<'_> {}

impl Spells<'_> {
    /// Goes on to the next block that can be read, or to the end.
    fn pass_over(&mut self) -> Damage {
        let start = self.at;
        let is_unknown = self.bytes[start..].starts_with(&MARK[..3])
            && self.bytes.get(start + 3).is_some_and(|number| *number != MARK[3]);
        let marks = (start + 1..self.bytes.len()).filter(|at| self.bytes[*at..].starts_with(&MARK));
        let next = marks.into_iter().find(|at| block_at(self.bytes, *at).is_some());
        self.at = next.unwrap_or(self.bytes.len());
        Damage { bytes: start..self.at, is_end: next.is_none(), is_unknown }
    }
}

/// The block that begins at a byte, and where it ends.
fn block_at(bytes: &[u8], at: usize) -> Option<(Spell, usize)> {
    let head: &[u8; HEAD] = bytes.get(at..)?.first_chunk()?;
    let number = |at: usize| u32::from_le_bytes([head[at], head[at + 1], head[at + 2], head[at + 3]]);
    let length = usize::try_from(number(4)).ok().filter(|length| *length <= LONGEST)?;
    let end = at + HEAD + length;
    let body = bytes.get(at + HEAD..end)?;
    let is_whole = head.starts_with(&MARK) && crc32fast::hash(body) == number(8);
    is_whole.then(|| block::read(body)).flatten().map(|spell| (spell, end))
}

/// Whether the second one is the same spell, a little later.
fn goes_on(open: &Spell, next: &Spell) -> bool {
    let (Some(last), Some(first)) = (open.readings.last(), next.readings.first()) else { return false };
    let is_same = open.satellite == next.satellite
        && open.link == next.link
        && open.antenna == next.antenna
        && open.downlink == next.downlink
        && open.pass == next.pass
        && open.others == next.others;
    is_same
        && (0.0..=PAUSE_S).contains(&seconds_between(last.at, first.at))
        && open.readings.len() + next.readings.len() <= LARGEST
}
