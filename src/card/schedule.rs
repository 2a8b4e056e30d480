//! When to change memories in one pass.

use super::Card;
use crate::sky::{SkyError, Track};
use crate::terms::{Time, Validity, later, seconds_between};

/// How far apart the range rate is looked at, seconds: no memory is in use for less.
const STEP_S: f64 = 2.0;
/// How exactly a change is found, seconds.
const PRECISION_S: f64 = 0.01;

/// From when on which memory is the right one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Change {
    /// The instant.
    pub time: Time,
    /// Counted from 0.
    pub memory: usize,
}

/// The changes of a pass; the first is at its beginning.
///
/// # Errors
/// A satellite that can't be propagated during the pass.
pub fn changes(card: &Card, track: &Track, pass: Validity) -> Result<Vec<Change>, SkyError> {
    let duration = seconds_between(pass.from, pass.until);
    let memory = |seconds: f64| {
        Ok::<usize, SkyError>(card.memory_at(track.at(later(pass.from, seconds))?.range_rate_km_s))
    };
    let mut found = vec![Change { time: pass.from, memory: memory(0.0)? }];
    let (mut at, mut current) = (0.0, memory(0.0)?);
    while at < duration {
        let next = (at + STEP_S).min(duration);
        if memory(next)? == current {
            at = next;
            continue;
        }
        let (mut before, mut after) = (at, next);
        while after - before > PRECISION_S {
            let middle = (before + after) / 2.0;
            if memory(middle)? == current { before = middle } else { after = middle }
        }
        (at, current) = (after, memory(after)?);
        found.push(Change { time: later(pass.from, at), memory: current });
    }
    Ok(found)
}
